#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "decoder/report/proposals_members.h"
#include "decoder/report/proposals_report.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
constexpr double most_seconds = 9e9;  // in nanoseconds nearly the same: 285 years

// A Form (proposals_members.h) that fills structs from an object.
class Reader {
 public:
  explicit Reader(JsonMembers in) : in_(std::move(in)) {}

  template <class T>
  void required(const char* name, T& member) {
    read(name, member);
  }
  void required(const char* name, double& member, const NumberLimits& limits) {
    member = in_.number(name, limits);
  }
  void required(const char* name, int& member, const NumberLimits& limits) {
    member = static_cast<int>(in_.integer(name, static_cast<std::int64_t>(limits.least),
                                          static_cast<std::int64_t>(limits.most)));
  }
  void required(const char* number, const char* extended, CanId& id) {
    const bool long_form = in_.flag(extended);
    const auto value =
        static_cast<std::uint32_t>(in_.integer(number, 0, long_form ? 0x1FFFFFFF : 0x7FF));
    id = long_form ? CanId::extended(value) : CanId::standard(value);
  }
  template <class T>
  void later(const char* name, T& member) {
    if (in_.is_there(name)) read(name, member);
  }
  void transport(const char* name, CanId& id) {
    if (!in_.has(name)) return;
    static const std::array<std::string, 1> kinds{"segments"};
    JsonMembers object = in_.object(name);
    (void)object.choice("kind", kinds);
    Transport transport{Transport::Kind::segments, 0};
    if (object.has("address")) {
      transport = {Transport::Kind::addressed_segments,
                   static_cast<std::uint8_t>(object.integer("address", 0, 255))};
    }
    id = payload_id(id, transport);
  }
  void follows(const char* name, int value) {
    if (in_.integer(name, 0, most) == value) return;
    in_.refuse(name, std::to_string(value) + ", as the span says");
  }
  void follows(const char* name, std::string_view value) {
    if (in_.text(name) == value) return;
    in_.refuse(name, '"' + std::string(value) + "\", as the span says");
  }
  void ucum(const std::string& /*unit*/) {  // the unit says it already
    if (in_.is_there("ucum")) (void)in_.text("ucum");
  }
  void number_or_null(const char* name, double& value) {
    value = in_.has_or_null(name) ? in_.number(name, proposals::any_size)
                                  : std::numeric_limits<double>::quiet_NaN();
  }

  void seconds(const char* name, std::int64_t& t_ns) {
    t_ns = std::llround(in_.number(name, {-most_seconds, most_seconds}) * 1e9);
  }
  void value_or_word(const char* name, double& number, std::string& word, bool is_word) {
    if (is_word) {
      word = in_.text(name);
    } else {
      number = in_.number(name);
    }
  }
  void correction(const char* name, const UnfitReading& /*reading*/) { (void)in_.text(name); }

 private:
  void read(const char* name, std::string& member) { member = in_.text(name); }
  void read(const char* name, bool& member) { member = in_.flag(name); }
  void read(const char* name, double& member) { member = in_.number(name); }
  void read(const char* name, std::int64_t& member) { member = in_.integer(name, -most, most); }
  void read(const char* name, std::uint64_t& member) { member = in_.code(name); }
  void read(const char* name, Span& member) { member = in_.span(name); }
  void read(const char* name, std::vector<std::string>& member) { member = in_.texts(name); }
  void read(const char* name, std::vector<std::uint64_t>& member) { member = in_.codes(name); }
  void read(const char* name, std::uint8_t& member) {
    member = static_cast<std::uint8_t>(in_.integer(name, 0, 255));
  }
  void read(const char* name, Interval& member) {
    const auto [low, high] = in_.two_numbers(name);
    member = {low, high};
  }
  void read(const char* name, Verdict& member) {
    constexpr std::array verdicts{Verdict::strong, Verdict::weak, Verdict::ambiguous};
    std::vector<std::string> words;
    for (const Verdict verdict : verdicts) words.emplace_back(to_string(verdict));
    member = verdicts.at(static_cast<std::size_t>(in_.choice(name, words)));
  }
  void read(const char* name, Coding& member) {
    constexpr std::array codings{Coding::natural, Coding::sign_magnitude, Coding::ones_complement,
                                 Coding::decimal};
    std::vector<std::string> words;
    for (const Coding coding : codings) words.emplace_back(to_string(coding));
    member = codings.at(static_cast<std::size_t>(in_.choice(name, words)));
  }
  void read(const char* name, Slip& member) {
    constexpr std::array kinds{Slip::factor_10, Slip::sign,      Slip::digits,
                               Slip::previous,  Slip::neighbour, Slip::unfit};
    std::vector<std::string> words;
    for (const Slip kind : kinds) words.emplace_back(to_string(kind));
    member = kinds.at(static_cast<std::size_t>(in_.choice(name, words)));
  }
  void read(const char* name, std::map<std::uint64_t, std::string>& member) {
    if (!in_.has_or_null(name)) return;
    for (auto& [code, word] : in_.words_by_code(name)) member[code] = std::move(word);
  }
  void read(const char* name, std::vector<CurvePoint>& member) {
    if (!in_.has_or_null(name)) return;
    read_list(name, member, proposals::point_members<Reader, CurvePoint>);
    if (!std::ranges::is_sorted(member, std::less_equal{}, &CurvePoint::raw) || member.size() < 2) {
      in_.refuse(name, "two points or more, raw ascending");
    }
  }
  void read(const char* name, std::vector<FieldPlace>& member) {
    read_list(name, member, proposals::place_members<Reader, FieldPlace>);
  }
  void read(const char* name, std::vector<Proposal>& member) {
    read_list(name, member, proposals::proposal_members<Reader, Proposal>);
  }
  void read(const char* name, std::vector<Unanswered>& member) {
    read_list(name, member, proposals::unanswered_members<Reader, Unanswered>);
  }
  void read(const char* name, std::vector<UnfitReading>& member) {
    read_list(name, member, proposals::unfit_members<Reader, UnfitReading>);
  }
  void read(const char* name, std::optional<Unanswered::Nearest>& member) {
    read_optional(name, member, proposals::nearest_members<Reader, Unanswered::Nearest>);
  }
  void read(const char* name, std::optional<Page>& member) {
    read_optional(name, member, proposals::page_members<Reader, Page>);
  }
  void read(const char* name, std::optional<RedrawnPlan>& member) {
    read_optional(name, member, proposals::plan_members<Reader, RedrawnPlan>);
  }
  void read(const char* name, std::optional<SearchedSession>& member) {
    read_optional(name, member, proposals::source_members<Reader, SearchedSession>);
  }

  // What no member says by itself.
  template <class T>
  void judge(const T& /*any*/) {}
  void judge(const Proposal& p) {
    const int width = p.place.span.width();
    if (p.is_float && width != 32 && width != 64) {
      in_.refuse("float", "false, for " + std::to_string(width) + " bits are no IEEE-754 number");
    }
    if (p.other_coding == Coding::decimal && width % 4 != 0) {
      in_.refuse("coding", "another code, for digits have four bits each");
    }
    if (p.scale == 0) in_.refuse("scale", "a number other than 0");
    if (p.scale_fitted == 0) in_.refuse("scale_fitted", "a number other than 0");
  }

  template <class T>
  void read_list(const char* name, std::vector<T>& list, void (*members)(Reader&, T&)) {
    for (JsonMembers& item : in_.list(name)) {
      Reader reader(item);
      members(reader, list.emplace_back());
      reader.judge(list.back());
    }
  }
  template <class T>
  void read_optional(const char* name, std::optional<T>& value, void (*members)(Reader&, T&)) {
    if (!in_.has_or_null(name)) return;
    Reader reader(in_.object(name));
    T read;
    members(reader, read);
    value = std::move(read);
  }

  JsonMembers in_;
};

}  // namespace

Result<Correlation> proposals_from_json(std::string_view text, const std::string& name) {
  const auto json = parse_json(text, name);
  if (!json) return json.error();
  const auto wrong = [&name](const std::string& what) {
    return Error{ErrorCode::format, name + ": " + what};
  };
  std::optional<std::string> trouble;
  JsonMembers top(*json, "", trouble);
  if (top.text("format") != proposals::format_name) {
    return wrong(
        "expected what `foundling correlate --json` prints (\"format\": \"foundling-proposals\"), "
        "found something else");
  }
  if (top.integer("version", 0, most) != proposals::format_version) {
    return wrong(
        "expected version 1 of the proposals; this may need a newer version of the program");
  }
  Correlation correlation;
  Reader reader(top);
  proposals::correlation_members(reader, correlation);
  if (trouble) return wrong(*trouble);
  return correlation;
}

}  // namespace foundling
