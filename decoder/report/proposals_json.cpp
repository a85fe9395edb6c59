#include <cmath>
#include <nlohmann/json.hpp>

#include "decoder/report/proposals_members.h"
#include "decoder/report/proposals_report.h"
#include "schemas/values/payload_id.h"
#include "schemas/values/ucum.h"

namespace foundling {
namespace {

using Json = nlohmann::ordered_json;

// A Form (proposals_members.h) that makes an object.
class Writer {
 public:
  explicit Writer(const ReadingsOf& readings) : readings_(readings) {}

  template <class T>
  void required(const char* name, const T& member) {
    json_[name] = value_of(member);
  }
  template <class T>
  void required(const char* name, const T& member, const NumberLimits& /*limits*/) {
    json_[name] = member;
  }
  void required(const char* number, const char* extended, const CanId& id) {
    json_[number] = id.number();
    json_[extended] = id.is_extended();
  }
  template <class T>
  void later(const char* name, const T& member) {
    required(name, member);
  }
  // Nothing of frames, as before there was anything else.
  void transport(const char* name, CanId id) {
    const Transport transport = transport_of(id);
    if (transport.kind == Transport::Kind::none) return;
    json_[name] = {{"kind", "segments"}, {"address", nullptr}};
    if (transport.kind == Transport::Kind::addressed_segments) {
      json_[name]["address"] = transport.address;
    }
  }
  template <class T>
  void follows(const char* name, const T& value) {
    json_[name] = value;
  }
  void ucum(const std::string& unit) {
    if (const auto code = ucum_code(unit); !code.empty()) json_["ucum"] = code;
  }
  void number_or_null(const char* name, double value) {
    json_[name] = std::isnan(value) ? Json(nullptr) : Json(value);
  }
  void seconds(const char* name, std::int64_t t_ns) {
    json_[name] = static_cast<double>(t_ns) / 1e9;
  }
  void value_or_word(const char* name, double number, const std::string& word, bool is_word) {
    json_[name] = is_word ? Json(word) : Json(number);
  }
  void correction(const char* name, const UnfitReading& reading) {
    json_[name] = correction_line(reading, readings_);
  }
  Json json() { return std::move(json_); }

 private:
  template <class T>
  static Json value_of(const T& plain) {
    return plain;
  }
  static Json value_of(const Span& span) { return to_string(span); }
  static Json value_of(Slip kind) { return to_string(kind); }
  static Json value_of(Verdict verdict) { return to_string(verdict); }
  static Json value_of(Coding coding) { return to_string(coding); }
  static Json value_of(const Interval& interval) {
    return Json::array({interval.low, interval.high});
  }
  static Json value_of(const std::map<std::uint64_t, std::string>& words) {
    Json json;
    for (const auto& [code, word] : words) json[std::to_string(code)] = word;
    return json;
  }
  Json value_of(const std::vector<CurvePoint>& points) {
    return points.empty() ? Json(nullptr)
                          : list_of(points, proposals::point_members<Writer, const CurvePoint>);
  }
  Json value_of(const std::vector<FieldPlace>& places) {
    return list_of(places, proposals::place_members<Writer, const FieldPlace>);
  }
  Json value_of(const std::vector<Proposal>& all) {
    return list_of(all, proposals::proposal_members<Writer, const Proposal>);
  }
  Json value_of(const std::vector<Unanswered>& all) {
    return list_of(all, proposals::unanswered_members<Writer, const Unanswered>);
  }
  Json value_of(const std::vector<UnfitReading>& all) {
    return list_of(all, proposals::unfit_members<Writer, const UnfitReading>);
  }
  Json value_of(const std::optional<Unanswered::Nearest>& nearest) {
    return or_null(nearest, proposals::nearest_members<Writer, const Unanswered::Nearest>);
  }
  Json value_of(const std::optional<Page>& page) {
    return or_null(page, proposals::page_members<Writer, const Page>);
  }
  Json value_of(const std::optional<RedrawnPlan>& plan) {
    return or_null(plan, proposals::plan_members<Writer, const RedrawnPlan>);
  }
  Json value_of(const std::optional<SearchedSession>& source) {
    return or_null(source, proposals::source_members<Writer, const SearchedSession>);
  }

  template <class T>
  Json object_of(const T& value, void (*members)(Writer&, const T&)) {
    Writer writer(readings_);
    members(writer, value);
    return writer.json();
  }
  template <class T>
  Json or_null(const std::optional<T>& value, void (*members)(Writer&, const T&)) {
    return value ? object_of(*value, members) : Json(nullptr);
  }
  template <class T>
  Json list_of(const std::vector<T>& values, void (*members)(Writer&, const T&)) {
    Json json = Json::array();
    for (const T& value : values) json.push_back(object_of(value, members));
    return json;
  }

  const ReadingsOf& readings_;
  Json json_;
};

}  // namespace

std::string proposals_json(const Correlation& correlation, const std::string& capture) {
  const ReadingsOf readings = readings_of(correlation, capture);
  Writer writer(readings);
  writer.follows("format", proposals::format_name);
  writer.follows("version", proposals::format_version);
  proposals::correlation_members(writer, correlation);
  return writer.json().dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
