#include "tools/value_writer.h"

#include <array>
#include <charconv>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <nlohmann/json.hpp>
#include <vector>

namespace foundling {
namespace {

// Lines are collected and handed on in pieces: a value costs no call of the stream.
class Output {
 public:
  void add(std::string_view text) { buffer_ += text; }
  void end_line() {
    buffer_ += '\n';
    if (buffer_.size() >= std::size_t{1} << 16U) flush();
  }
  void flush() {
    std::cout.write(buffer_.data(), static_cast<std::streamsize>(buffer_.size()));
    buffer_.clear();
  }

 private:
  std::string buffer_;
};

std::string value_cell(const DecodedValue& value) {
  if (value.kind == ValueKind::number) return number_text(value.number);
  if (value.kind == ValueKind::code) return std::to_string(value.raw);
  return csv_text(std::string(value.word));
}

class CsvWriter : public ValueWriter {
 public:
  explicit CsvWriter(const Decoder& decoder) {
    for (const Field& field : decoder.fields()) {
      names_.push_back(',' + csv_text(field.name) + ',');
      const SignalEntry& entry = decoder.entry(field);
      const bool state = !entry.states.empty() && entry.unit.empty();
      units_.push_back(',' + csv_text(state ? "state" : entry.unit));
    }
    out_.add("time_s,signal,value,unit");
    out_.end_line();
  }
  void write(const DecodedValue& value) override {
    out_.add(seconds_text(value.t_ns));
    out_.add(names_[value.field]);
    out_.add(value_cell(value));
    out_.add(units_[value.field]);
    out_.end_line();
  }
  void finish() override { out_.flush(); }

 private:
  std::vector<std::string> names_;
  std::vector<std::string> units_;
  Output out_;
};

class JsonLinesWriter : public ValueWriter {
 public:
  explicit JsonLinesWriter(const Decoder& decoder) {
    for (const Field& field : decoder.fields()) {
      names_.push_back(",\"signal\":" + nlohmann::json(field.name).dump() + ",\"value\":");
      const std::string& unit = decoder.entry(field).unit;
      units_.push_back(unit.empty() ? "}" : ",\"unit\":" + nlohmann::json(unit).dump() + '}');
    }
  }
  void write(const DecodedValue& value) override {
    out_.add("{\"time_s\":");
    out_.add(seconds_text(value.t_ns));
    out_.add(names_[value.field]);
    if (value.kind == ValueKind::number) {
      out_.add(number_text(value.number));
    } else if (value.kind == ValueKind::code) {
      out_.add(std::to_string(value.raw));
    } else if (value.kind == ValueKind::state) {
      out_.add(nlohmann::json(value.word).dump());
    } else {
      out_.add("null,\"reserved\":" + nlohmann::json(value.word).dump());
    }
    out_.add(units_[value.field]);
    out_.end_line();
  }
  void finish() override { out_.flush(); }

 private:
  std::vector<std::string> names_;
  std::vector<std::string> units_;
  Output out_;
};

class WideWriter : public ValueWriter {
 public:
  WideWriter(const Decoder& decoder, std::int64_t step_ns)
      : step_ns_(step_ns), cells_(decoder.fields().size()) {
    out_.add("time_s");
    for (const Field& field : decoder.fields()) {
      const std::string& unit = decoder.entry(field).unit;
      out_.add(',' + csv_text(unit.empty() ? field.name : field.name + " [" + unit + ']'));
    }
    out_.end_line();
  }
  void write(const DecodedValue& value) override {
    if (!started_) {  // the first row is the first step at or after the first value
      next_ns_ = (value.t_ns + step_ns_ - 1) / step_ns_ * step_ns_;
      started_ = true;
    }
    while (value.t_ns > next_ns_) row();
    cells_[value.field] = value.kind == ValueKind::reserved ? std::string() : value_cell(value);
    last_ns_ = value.t_ns;
  }
  void finish() override {
    if (started_ && last_ns_ + step_ns_ > next_ns_) row();
    out_.flush();
  }

 private:
  void row() {
    out_.add(seconds_text(next_ns_));
    for (const std::string& cell : cells_) {
      out_.add(",");
      out_.add(cell);
    }
    out_.end_line();
    next_ns_ += step_ns_;
  }

  std::int64_t step_ns_;
  std::vector<std::string> cells_;
  bool started_ = false;
  std::int64_t next_ns_ = 0;
  std::int64_t last_ns_ = 0;
  Output out_;
};

}  // namespace

std::unique_ptr<ValueWriter> csv_writer(const Decoder& decoder) {
  return std::make_unique<CsvWriter>(decoder);
}

std::unique_ptr<ValueWriter> json_lines_writer(const Decoder& decoder) {
  return std::make_unique<JsonLinesWriter>(decoder);
}

std::unique_ptr<ValueWriter> wide_writer(const Decoder& decoder, std::int64_t step_ns) {
  return std::make_unique<WideWriter>(decoder, step_ns);
}

std::string seconds_text(std::int64_t t_ns) {
  constexpr std::int64_t second = 1'000'000'000;
  std::array<char, 48> text{};
  const std::int64_t rest = std::abs(t_ns % second);
  int length =
      std::snprintf(text.data(), text.size(), "%s%lld.%09lld", t_ns < 0 ? "-" : "",
                    static_cast<long long>(std::abs(t_ns / second)), static_cast<long long>(rest));
  while (text[static_cast<std::size_t>(length - 1)] == '0') --length;
  if (text[static_cast<std::size_t>(length - 1)] == '.') --length;
  return {text.data(), static_cast<std::size_t>(length)};
}

std::string number_text(double value) {
  std::array<char, 48> text{};
  const auto stop =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 15)
          .ptr;
  return {text.data(), stop};
}

std::string csv_text(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  return out + '"';
}

}  // namespace foundling
