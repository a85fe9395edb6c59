#include "tests/report/json_schema.h"

#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <fstream>
#include <stdexcept>

namespace foundling::test {
namespace {

using nlohmann::json;

// A line of JSON in (the value, and the schema where it is another than before), a line of JSON out
// (the faults).
constexpr const char* checker = R"(
import json, sys
from jsonschema import Draft202012Validator as Draft, SchemaError
notes = {'$schema', '$id', '$defs', '$comment', 'title', 'description', 'default', 'examples'}
def unknown(schema):
    if not isinstance(schema, dict):
        return []
    found = [w for w in schema if w not in Draft.VALIDATORS and w not in notes]
    for word in ('properties', '$defs', 'patternProperties'):
        for part in schema.get(word, {}).values():
            found += unknown(part)
    for word in ('items', 'additionalProperties', 'propertyNames', 'contains', 'not', 'if'):
        found += unknown(schema.get(word))
    for word in ('allOf', 'anyOf', 'oneOf', 'prefixItems'):
        for part in schema.get(word, []):
            found += unknown(part)
    return found
def validator(schema):
    try:
        Draft.check_schema(schema)
        return Draft(schema), [': the schema word ' + w for w in unknown(schema)]
    except SchemaError as error:
        return None, [': ' + error.message]
for line in sys.stdin:
    asked = json.loads(line)
    if 'schema' in asked:
        check, its_faults = validator(asked['schema'])
    faults = its_faults
    if not faults:
        for error in check.iter_errors(asked['value']):
            place = ''.join('/' + str(p) for p in error.absolute_path)
            faults = faults + [place + ': ' + error.message]
    print(json.dumps(faults), flush=True)
)";

class Python {
 public:
  Python() {
    int ends[2];
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0) {
      throw std::runtime_error("no socket pair");
    }
    process_ = fork();
    if (process_ == 0) {
      dup2(ends[1], STDIN_FILENO);
      dup2(ends[1], STDOUT_FILENO);
      execl("/usr/bin/python3", "python3", "-c", checker, static_cast<char*>(nullptr));
      _exit(127);
    }
    close(ends[1]);
    in_ = fdopen(ends[0], "r");
    out_ = fdopen(dup(ends[0]), "w");
  }
  Python(const Python&) = delete;
  Python& operator=(const Python&) = delete;
  ~Python() {
    std::fclose(out_);
    std::fclose(in_);
    waitpid(process_, nullptr, 0);
  }

  json ask(const json& question) {
    const std::string line = question.dump() + '\n';
    std::fwrite(line.data(), 1, line.size(), out_);
    std::fflush(out_);
    std::string answer;
    for (int c = std::fgetc(in_); c != EOF && c != '\n'; c = std::fgetc(in_)) {
      answer += static_cast<char>(c);
    }
    if (answer.empty()) {
      throw std::runtime_error("no answer from python3 with jsonschema (python3-jsonschema)");
    }
    return json::parse(answer);
  }

 private:
  pid_t process_ = -1;
  std::FILE* in_ = nullptr;
  std::FILE* out_ = nullptr;
};

}  // namespace

std::vector<std::string> schema_faults(const json& schema, const json& value) {
  static Python python;
  static json last;
  json question{{"value", value}};
  if (schema != last) question["schema"] = last = schema;
  return python.ask(question).get<std::vector<std::string>>();
}

json project_schema(const std::string& name) {
  std::ifstream file(FOUNDLING_SOURCE_DIR "/schemas/" + name + ".schema.json");
  return json::parse(file);
}

}  // namespace foundling::test
