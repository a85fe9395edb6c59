#include "tests/report/json_schema.h"

#include <fstream>
#include <functional>
#include <map>
#include <regex>

namespace foundling::test {
namespace {

using Json = nlohmann::json;

bool is_of_type(const Json& value, const std::string& type) {
  if (type == "integer") return value.is_number_integer();
  if (type == "number") return value.is_number();
  if (type == "string") return value.is_string();
  if (type == "boolean") return value.is_boolean();
  if (type == "null") return value.is_null();
  if (type == "array") return value.is_array();
  return type == "object" && value.is_object();
}

class Validator {
 public:
  explicit Validator(const Json& root) : root_(root) {}

  void check(const Json& schema, const Json& value, const std::string& place) {
    for (const auto& [word, wanted] : schema.items()) {
      if (word[0] == '$' && word != "$ref") continue;  // $schema, $defs
      if (word == "title" || word == "description") continue;
      const auto rule = rules().find(word);
      if (rule == rules().end()) {
        fault(place, "the schema's word '" + word + "' is not known here");
      } else {
        rule->second(*this, schema, wanted, value, place);
      }
    }
  }

  std::vector<std::string> faults;

 private:
  using Rule = std::function<void(Validator&, const Json& schema, const Json& wanted,
                                  const Json& value, const std::string& place)>;

  void fault(const std::string& place, const std::string& text) {
    faults.push_back((place.empty() ? "/" : place) + ": " + text);
  }
  void expect(bool good, const std::string& place, const std::string& text) {
    if (!good) fault(place, text);
  }

  void members(const Json& schema, const Json& value, const std::string& place) {
    if (!value.is_object()) return;
    for (const auto& [name, member] : value.items()) {
      const std::string inside = place + '/' + name;
      const bool described =
          schema.contains("properties") && schema.at("properties").contains(name);
      if (described) {
        check(schema.at("properties").at(name), member, inside);
      } else if (schema.contains("additionalProperties")) {
        check(schema.at("additionalProperties"), member, inside);
      }
      if (schema.contains("propertyNames")) check(schema.at("propertyNames"), name, inside);
    }
  }

  static void check_type(Validator& v, const Json& wanted, const Json& value,
                         const std::string& place) {
    bool good = false;
    for (const Json& type : wanted.is_array() ? wanted : Json::array({wanted})) {
      good = good || is_of_type(value, type);
    }
    v.expect(good, place, "expected " + wanted.dump() + ", found " + value.dump());
  }

  static void check_enum(Validator& v, const Json& wanted, const Json& value,
                         const std::string& place) {
    bool good = false;
    for (const Json& allowed : wanted) good = good || allowed == value;
    v.expect(good, place, "expected one of " + wanted.dump() + ", found " + value.dump());
  }

  static void check_required(Validator& v, const Json& wanted, const Json& value,
                             const std::string& place) {
    if (!value.is_object()) return;
    for (const Json& name : wanted) {
      v.expect(value.contains(name.get<std::string>()), place, "no member " + name.dump());
    }
  }

  static const std::map<std::string, Rule>& rules() {
    static const std::map<std::string, Rule> all = [] {
      std::map<std::string, Rule> both = rules_of_one_value();
      both.merge(rules_of_shape());
      return both;
    }();
    return all;
  }

  static std::map<std::string, Rule> rules_of_one_value() {
    using S = const std::string&;
    using J = const Json&;
    return {
        {"$ref",
         [](Validator& v, J, J wanted, J value, S place) {
           v.check(v.root_.at(Json::json_pointer(wanted.get<std::string>().substr(1))), value,
                   place);
         }},
        {"type",
         [](Validator& v, J, J wanted, J value, S place) { check_type(v, wanted, value, place); }},
        {"const",
         [](Validator& v, J, J wanted, J value, S place) {
           v.expect(value == wanted, place,
                    "expected " + wanted.dump() + ", found " + value.dump());
         }},
        {"enum",
         [](Validator& v, J, J wanted, J value, S place) { check_enum(v, wanted, value, place); }},
        {"minimum",
         [](Validator& v, J, J wanted, J value, S place) {
           v.expect(!value.is_number() || value >= wanted, place, value.dump() + " is too low");
         }},
        {"maximum",
         [](Validator& v, J, J wanted, J value, S place) {
           v.expect(!value.is_number() || value <= wanted, place, value.dump() + " is too high");
         }},
        {"pattern",
         [](Validator& v, J, J wanted, J value, S place) {
           const std::regex pattern(wanted.get<std::string>());
           v.expect(!value.is_string() || std::regex_search(value.get<std::string>(), pattern),
                    place, value.dump() + " does not match " + wanted.dump());
         }},
    };
  }

  static std::map<std::string, Rule> rules_of_shape() {
    using S = const std::string&;
    using J = const Json&;
    return {
        {"minItems",
         [](Validator& v, J, J wanted, J value, S place) {
           v.expect(!value.is_array() || value.size() >= wanted, place, "too few items");
         }},
        {"maxItems",
         [](Validator& v, J, J wanted, J value, S place) {
           v.expect(!value.is_array() || value.size() <= wanted, place, "too many items");
         }},
        {"required", [](Validator& v, J, J wanted, J value,
                        S place) { check_required(v, wanted, value, place); }},
        {"items",
         [](Validator& v, J, J wanted, J value, S place) {
           if (!value.is_array()) return;
           for (std::size_t i = 0; i < value.size(); ++i) {
             v.check(wanted, value.at(i), place + '/' + std::to_string(i));
           }
         }},
        {"properties",
         [](Validator& v, J schema, J, J value, S place) { v.members(schema, value, place); }},
        {"additionalProperties",
         [](Validator& v, J schema, J, J value, S place) {
           if (!schema.contains("properties")) v.members(schema, value, place);
         }},
        {"propertyNames", [](Validator&, J, J, J, S) { /* with additionalProperties */ }},
    };
  }

  const Json& root_;
};

}  // namespace

std::vector<std::string> schema_faults(const Json& schema, const Json& value) {
  Validator validator(schema);
  validator.check(schema, value, "");
  return validator.faults;
}

Json project_schema(const std::string& name) {
  std::ifstream file(FOUNDLING_SOURCE_DIR "/schemas/" + name + ".schema.json");
  return Json::parse(file);
}

}  // namespace foundling::test
