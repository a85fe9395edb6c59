#include "tools/value_writer.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "decoder/decode/decimal_line.h"
#include "decoder/decode/freshness.h"
#include "schemas/signals/status_word.h"
#include "schemas/values/shown_text.h"
#include "schemas/values/table_cell.h"
#include "schemas/values/ucum.h"
#include "tools/value_text.h"

namespace foundling {
namespace {

// Lines are collected and handed on in pieces: a value costs no call of the stream.
class Output {
 public:
  explicit Output(ValueWriter::Sink sink) : sink_(std::move(sink)), text_(2 * piece) {}

  // Where to write up to so many characters; moved_to says how far that went.
  char* make_room(std::size_t more) {
    if (size_ + more > text_.size()) text_.resize(2 * (size_ + more));
    return text_.data() + size_;
  }
  void moved_to(const char* end) { size_ = static_cast<std::size_t>(end - text_.data()); }

  Output& operator<<(std::string_view text) {
    std::memcpy(make_room(text.size()), text.data(), text.size());
    size_ += text.size();
    return *this;
  }
  void seconds(std::int64_t t_ns) { moved_to(put_seconds(make_room(value_text_room), t_ns)); }
  void number(double value) { moved_to(put_number(make_room(value_text_room), value)); }
  void cell(const DecodedValue& value) {
    if (value.kind == ValueKind::number) {
      number(value.number);
    } else if (value.kind == ValueKind::code) {
      *this << std::to_string(value.raw);
    } else if (value.kind == ValueKind::state) {
      if (needs_care_in_cell(value.word)) {
        *this << table_cell(value.word);
      } else {
        *this << value.word;
      }
    }
  }
  // Behind every line.
  void end_of_piece() {
    if (size_ >= piece) flush();
  }
  [[nodiscard]] std::size_t mark() const { return size_; }
  void back_to(std::size_t mark) { size_ = mark; }
  void flush() {
    if (size_ > 0) sink_({text_.data(), size_});
    size_ = 0;
  }

 private:
  static constexpr std::size_t piece = std::size_t{1} << 16U;

  ValueWriter::Sink sink_;
  std::vector<char> text_;
  std::size_t size_ = 0;
};

std::string json_text(std::string_view text) {
  return shown(nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
}

// A short text that is written often: copied as a block of fixed size, which is quicker than one of
// its own. Up to block + its own length of room are needed.
class Snippet {
 public:
  explicit Snippet(std::string_view text) : size_(text.size()) {
    std::copy_n(text.begin(), std::min(size_, block), start_.begin());
    if (size_ > block) rest_ = text.substr(block);
  }
  [[nodiscard]] char* put(char* out) const {
    std::memcpy(out, start_.data(), block);
    if (size_ > block) std::memcpy(out + block, rest_.data(), rest_.size());
    return out + size_;
  }
  [[nodiscard]] std::size_t size() const { return size_; }

  static constexpr std::size_t block = 32;

 private:
  std::array<char, block> start_{};
  std::string rest_;
  std::size_t size_;
};

class CsvWriter : public ValueWriter {
 public:
  CsvWriter(const Decoder& decoder, Chosen chosen, Sink sink, TimeColumn time)
      : chosen_(std::move(chosen)), time_(std::move(time)), out_(std::move(sink)) {
    for (const Field& field : decoder.fields()) {
      columns_.emplace_back(field, decoder.entry(field));
      room_ = std::max(room_, columns_.back().name.size() + columns_.back().unit.size());
    }
    room_ += 2 * value_text_room + 2 * Snippet::block;
    out_ << time_.heading() << ",signal,value,unit\n";
  }
  // The values of a frame share its time, whose digits are written once.
  void write(const DecodedValue& value) override {
    if (!chosen_[value.field]) return;
    const std::string_view time = time_.text(value.t_ns);
    const Column& column = columns_[value.field];
    char* out = out_.make_room(room_ + value.word.size());
    std::memcpy(out, time.data(), value_text_room);  // a fixed size is quicker
    out = column.name.put(out + time.size());
    if (value.kind == ValueKind::number) {
      out = column.number(out, value);
    } else {
      out_.moved_to(out);
      out_.cell(value);
      out = out_.make_room(room_);
    }
    out_.moved_to(column.unit.put(out));
    out_.end_of_piece();
  }
  void flush() override { out_.flush(); }

 private:
  struct Column {
    Snippet name;
    Snippet unit;
    bool decimal = false;  // its numbers are raw values on an exact line
    int sign_shift = 0;
    bool is_signed = false;
    DecimalLine line;

    Column(const Field& field, const SignalEntry& entry)
        : name(',' + table_cell(field.name) + ','),
          unit(',' + table_cell(unit_of(entry)) + '\n'),
          sign_shift(64 - field.span.width()),
          is_signed(entry.encoding == Encoding::signed_integer),
          line(decimal_line(entry.scale, entry.offset, field.span.width(), is_signed)) {
      decimal = line.exact && entry.table.empty() &&
                (is_signed || entry.encoding == Encoding::unsigned_integer);
    }
    static std::string unit_of(const SignalEntry& entry) {
      return !entry.states.empty() && entry.unit.empty() ? "state" : entry.unit;
    }
    // The digits come from the whole number, and the double need not be taken apart.
    char* number(char* out, const DecodedValue& value) const {
      if (!decimal) return put_number(out, value.number);
      const auto raw = static_cast<std::int64_t>(value.raw << sign_shift);
      return put_decimal(
          out, line.whole_at(is_signed ? raw >> sign_shift : static_cast<std::int64_t>(value.raw)),
          line.digits);
    }
  };

  Chosen chosen_;
  std::vector<Column> columns_;
  std::size_t room_ = 0;  // for a line of any signal, less its word
  TimeColumn time_;
  Output out_;
};

class JsonLinesWriter : public ValueWriter {
 public:
  JsonLinesWriter(const Decoder& decoder, Chosen chosen, Sink sink, TimeColumn time)
      : chosen_(std::move(chosen)), time_(std::move(time)), out_(std::move(sink)) {
    for (const Field& field : decoder.fields()) {
      names_.push_back(",\"signal\":" + json_text(field.name) + ",\"value\":");
      const SignalEntry& entry = decoder.entry(field);
      const std::string ucum(ucum_code(entry.unit));
      ends_.push_back((entry.unit.empty() ? "" : ",\"unit\":" + json_text(entry.unit)) +
                      (ucum.empty() ? "" : ",\"ucum\":\"" + ucum + '"') + ",\"status\":\"" +
                      std::string(status_word(entry.status)) + "\"}\n");
    }
  }
  void write(const DecodedValue& value) override {
    if (!chosen_[value.field]) return;
    out_ << "{\"time_s\":";
    out_.seconds(value.t_ns);
    if (time_.is_utc()) out_ << ",\"time_utc\":\"" << time_.text(value.t_ns) << "\"";
    out_ << names_[value.field];
    if (value.kind == ValueKind::state) {
      out_ << json_text(value.word);
    } else if (value.kind == ValueKind::reserved) {
      out_ << "null,\"reserved\":" << json_text(value.word);
    } else {
      out_.cell(value);
    }
    out_ << ends_[value.field];
    out_.end_of_piece();
  }
  void flush() override { out_.flush(); }

 private:
  Chosen chosen_;
  TimeColumn time_;
  std::vector<std::string> names_;
  std::vector<std::string> ends_;
  Output out_;
};

class WideWriter : public ValueWriter {
 public:
  WideWriter(const Decoder& decoder, const SignalMap& map, Chosen chosen, std::int64_t step_ns,
             Sink sink, TimeColumn time)
      : chosen_(std::move(chosen)),
        time_(std::move(time)),
        step_ns_(step_ns),
        fresh_(map, decoder.fields()),
        newest_(decoder.fields().size()),
        out_(std::move(sink)) {
    out_ << time_.heading();
    for (std::size_t i = 0; i < newest_.size(); ++i) {
      if (!chosen_[i]) continue;
      const Field& field = decoder.fields()[i];
      const std::string& unit = decoder.entry(field).unit;
      out_ << ',' + table_cell(unit.empty() ? field.name : field.name + " [" + unit + ']');
    }
    out_ << "\n";
  }
  void write(const DecodedValue& value) override {
    if (!chosen_[value.field]) return;
    if (!started_) {  // the first row is the first step at or after the first value
      next_ns_ = step_at_or_after(value.t_ns);
      started_ = true;
    }
    while (value.t_ns > next_ns_) {
      if (row()) continue;
      next_ns_ = step_at_or_after(value.t_ns);  // nothing will be fresh before it
    }
    fresh_.see(value.field, value.t_ns);
    newest_[value.field] = value;
    last_ns_ = value.t_ns;
  }
  void flush() override { out_.flush(); }
  void finish() override {
    if (started_ && last_ns_ + step_ns_ > next_ns_) row();
    out_.flush();
  }

 private:
  [[nodiscard]] std::int64_t step_at_or_after(std::int64_t t_ns) const {
    const std::int64_t down = t_ns / step_ns_ * step_ns_;
    return down < t_ns ? down + step_ns_ : down;
  }

  bool row() {
    const auto begin = out_.mark();
    out_ << time_.text(next_ns_);
    bool any = false;
    for (std::size_t i = 0; i < newest_.size(); ++i) {
      if (!chosen_[i]) continue;
      out_ << ",";
      if (fresh_.stale(i, next_ns_)) continue;
      any = true;
      out_.cell(newest_[i]);
    }
    next_ns_ += step_ns_;
    if (!any) {
      out_.back_to(begin);
      return false;
    }
    out_ << "\n";
    out_.end_of_piece();
    return true;
  }

  Chosen chosen_;
  TimeColumn time_;
  std::int64_t step_ns_;
  Freshness fresh_;
  std::vector<DecodedValue> newest_;
  bool started_ = false;
  std::int64_t next_ns_ = 0;
  std::int64_t last_ns_ = 0;
  Output out_;
};

}  // namespace

std::unique_ptr<ValueWriter> csv_writer(const Decoder& decoder, Chosen chosen,
                                        ValueWriter::Sink sink, TimeColumn time) {
  return std::make_unique<CsvWriter>(decoder, std::move(chosen), std::move(sink), std::move(time));
}

std::unique_ptr<ValueWriter> json_lines_writer(const Decoder& decoder, Chosen chosen,
                                               ValueWriter::Sink sink, TimeColumn time) {
  return std::make_unique<JsonLinesWriter>(decoder, std::move(chosen), std::move(sink),
                                           std::move(time));
}

std::unique_ptr<ValueWriter> wide_writer(const Decoder& decoder, const SignalMap& map,
                                         Chosen chosen, std::int64_t step_ns,
                                         ValueWriter::Sink sink, TimeColumn time) {
  return std::make_unique<WideWriter>(decoder, map, std::move(chosen), step_ns, std::move(sink),
                                      std::move(time));
}

}  // namespace foundling
