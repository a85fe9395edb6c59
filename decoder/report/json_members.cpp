#include "decoder/report/json_members.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "schemas/values/nearest_word.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

using Json = nlohmann::json;

bool is_code(const Json& value) { return value.is_number_unsigned(); }

// Lists and objects are not spelt out: they may be nested deeper than the stack is.
std::string shown(const Json* member) {
  if (member == nullptr) return "nothing";
  if (member->is_array()) return "a list";
  if (member->is_object()) return "an object";
  const std::string text = member->dump(-1, ' ', false, Json::error_handler_t::replace);
  return text.size() <= 60 ? text : std::string(first_bytes(text, 60)) + "...";
}

std::string line_and_column(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte == 0 ? 0 : byte - 1, text.size()));
  const auto line = std::ranges::count(before, '\n') + 1;
  const auto start = before.rfind('\n');
  const auto column = before.size() - (start == std::string_view::npos ? 0 : start + 1) + 1;
  return std::to_string(line) + ':' + std::to_string(column);
}

std::string short_number(double value) { return Json(value).dump(); }

}  // namespace

JsonMembers::JsonMembers(const Json& object, std::string path, std::optional<std::string>& trouble)
    : object_(object), path_(std::move(path)), trouble_(trouble) {
  if (!object_.is_object()) say(path_, "an object, found " + shown(&object_));
}

bool JsonMembers::has(const char* name) const {
  const Json* member = get(name);
  return member != nullptr && !member->is_null();
}

bool JsonMembers::is_there(const char* name) const { return get(name) != nullptr; }

bool JsonMembers::has_or_null(const char* name) {
  if (!is_there(name)) refuse(name, "a value or null");
  return has(name);
}

std::string JsonMembers::text(const char* name) {
  const Json* member = get(name);
  if (member == nullptr || !member->is_string()) return refuse(name, "text"), std::string();
  return member->get<std::string>();
}

double JsonMembers::number(const char* name) {
  const Json* member = get(name);
  // A number too large for a double is read as infinite.
  if (member != nullptr && member->is_number() && std::isfinite(member->get<double>())) {
    return member->get<double>();
  }
  return refuse(name, "a number"), 0;
}

double JsonMembers::number(const char* name, const NumberLimits& limits) {
  const double value = number(name);
  if (value >= limits.least && value <= limits.most) return value;
  refuse(name, std::isfinite(limits.most) ? "a number from " + short_number(limits.least) + " to " +
                                                short_number(limits.most)
                                          : "a number from " + short_number(limits.least));
  return limits.least;
}

std::int64_t JsonMembers::integer(const char* name, std::int64_t low, std::int64_t high) {
  const Json* member = get(name);
  constexpr auto most = static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max());
  const bool whole = member != nullptr && member->is_number_integer() &&
                     !(member->is_number_unsigned() && member->get<std::uint64_t>() > most);
  const std::int64_t value = whole ? member->get<std::int64_t>() : 0;
  if (whole && value >= low && value <= high) return value;
  refuse(name, "a whole number from " + std::to_string(low) + " to " + std::to_string(high));
  return low;
}

std::uint64_t JsonMembers::code(const char* name) {
  const Json* member = get(name);
  if (member != nullptr && is_code(*member)) return member->get<std::uint64_t>();
  return refuse(name, "a whole number from 0"), 0;
}

bool JsonMembers::flag(const char* name) {
  const Json* member = get(name);
  if (member == nullptr || !member->is_boolean()) return refuse(name, "true or false"), false;
  return member->get<bool>();
}

Span JsonMembers::span(const char* name) {
  const auto span = parse_span(text(name));
  if (!span) refuse(name, "bits, such as \"2.7..3.0\"");
  return span.value_or(Span{});
}

int JsonMembers::choice(const char* name, std::span<const std::string> words) {
  const std::string word = text(name);
  const auto at = std::ranges::find(words, word);
  if (at != words.end()) return static_cast<int>(at - words.begin());
  std::string all;
  for (const std::string& one : words) all += (all.empty() ? "" : ", ") + one;
  const auto near = nearest_word(word, words);
  refuse(name, "one of " + all + (near ? " (did you mean '" + *near + "'?)" : ""));
  return 0;
}

std::pair<double, double> JsonMembers::two_numbers(const char* name) {
  const Json* member = get(name);
  if (member != nullptr && member->is_array() && member->size() == 2 && (*member)[0].is_number() &&
      (*member)[1].is_number()) {
    return {(*member)[0].get<double>(), (*member)[1].get<double>()};
  }
  return refuse(name, "a list of two numbers"), std::pair<double, double>{};
}

std::vector<std::string> JsonMembers::texts(const char* name) {
  std::vector<std::string> all;
  const Json* member = get_list(name);
  for (std::size_t i = 0; member != nullptr && i < member->size(); ++i) {
    const Json& item = (*member)[i];
    if (!item.is_string()) return say(item_path(name, i), "text, found " + shown(&item)), all;
    all.push_back(item.get<std::string>());
  }
  return all;
}

std::vector<std::uint64_t> JsonMembers::codes(const char* name) {
  std::vector<std::uint64_t> all;
  const Json* member = get_list(name);
  for (std::size_t i = 0; member != nullptr && i < member->size(); ++i) {
    const Json& item = (*member)[i];
    if (!is_code(item)) {
      return say(item_path(name, i), "a whole number from 0, found " + shown(&item)), all;
    }
    all.push_back(item.get<std::uint64_t>());
  }
  return all;
}

std::vector<std::pair<std::uint64_t, std::string>> JsonMembers::words_by_code(const char* name) {
  std::vector<std::pair<std::uint64_t, std::string>> all;
  const Json* member = get(name);
  if (member == nullptr || !member->is_object()) return refuse(name, "an object"), all;
  for (const auto& [key, word] : member->items()) {
    std::uint64_t code = 0;
    const auto [end, fault] = std::from_chars(key.data(), key.data() + key.size(), code);
    if (fault != std::errc() || end != key.data() + key.size()) {
      say(path_ + '.' + name, "raw codes in decimal as names, found " +
                                  Json(key).dump(-1, ' ', false, Json::error_handler_t::replace));
      return all;
    }
    if (!word.is_string()) {
      return say(path_ + '.' + name + '.' + key, "text, found " + shown(&word)), all;
    }
    all.emplace_back(code, word.get<std::string>());
  }
  return all;
}

JsonMembers JsonMembers::object(const char* name) {
  static const Json nothing = Json::object();
  const Json* member = get(name);
  if (member == nullptr) refuse(name, "an object");
  return {member == nullptr ? nothing : *member, path_ + '.' + name, trouble_};
}

std::vector<JsonMembers> JsonMembers::list(const char* name) {
  std::vector<JsonMembers> items;
  const Json* member = get_list(name);
  for (std::size_t i = 0; member != nullptr && i < member->size(); ++i) {
    items.emplace_back((*member)[i], item_path(name, i), trouble_);
  }
  return items;
}

void JsonMembers::refuse(const char* name, const std::string& expected) {
  say(path_ + '.' + name, expected + ", found " + shown(get(name)));
}

const Json* JsonMembers::get(const char* name) const {
  if (!object_.is_object()) return nullptr;
  const auto at = object_.find(name);
  return at == object_.end() ? nullptr : &*at;
}

const Json* JsonMembers::get_list(const char* name) {
  const Json* member = get(name);
  if (member != nullptr && member->is_array()) return member;
  return refuse(name, "a list"), nullptr;
}

std::string JsonMembers::item_path(const char* name, std::size_t i) const {
  return path_ + '.' + name + '[' + std::to_string(i) + ']';
}

void JsonMembers::say(const std::string& path, const std::string& expected) {
  if (trouble_) return;
  const auto start = path.find_first_not_of('.');
  trouble_ =
      (start == std::string::npos ? "the whole" : path.substr(start)) + ": expected " + expected;
}

Result<Json> parse_json(std::string_view text, const std::string& name) {
  try {
    return Json::parse(text);
  } catch (const Json::parse_error& error) {
    return Error{ErrorCode::format,
                 name + ':' + line_and_column(text, error.byte) + ": expected JSON, found none"};
  } catch (const Json::out_of_range& error) {  // "... parsing '1e999'": the byte is not told
    const std::string_view words = error.what();
    const auto open = words.find('\'');
    const std::string_view number = words.substr(std::min(open + 1, words.size()));
    const auto at = text.find(number.substr(0, number.find('\'')));
    return Error{ErrorCode::format, name + ':' + line_and_column(text, at + 1) +
                                        ": expected a number that a double can hold"};
  }
}

}  // namespace foundling
