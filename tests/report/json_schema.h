// Checks a JSON value against a JSON Schema (draft 2020-12) by Debian's python3-jsonschema, in one
// Python process for each test program. A schema that is wrong itself, or has a word that the draft
// does not know, is a fault, so that none is taken for checked.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace foundling::test {

// Each fault with its place in the value as a JSON pointer; none if the value keeps to the schema.
[[nodiscard]] std::vector<std::string> schema_faults(const nlohmann::json& schema,
                                                     const nlohmann::json& value);

// One of the project's, by the name before ".schema.json".
[[nodiscard]] nlohmann::json project_schema(const std::string& name);

}  // namespace foundling::test
