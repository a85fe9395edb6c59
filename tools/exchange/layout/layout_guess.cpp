#include "tools/exchange/layout/layout_guess.h"

#include <algorithm>
#include <array>

#include "tools/exchange/layout/column_meaning.h"
#include "tools/exchange/layout/delimited_line.h"
#include "tools/exchange/number_text.h"
#include "tools/exchange/text_lines.h"

namespace foundling {
namespace {

std::size_t bytes_in(std::string_view text) {
  const std::string_view between = " -:_";
  if (text.find_first_of(between) == text.npos) {
    const bool prefixed = text.size() > 2 && text[0] == '0' && (text[1] | 32) == 'x';
    return (text.size() - (prefixed ? 2 : 0)) / 2;
  }
  std::size_t bytes = 0;
  bool inside = false;
  for (const char c : text) {
    const bool apart = between.find(c) != between.npos;
    bytes += !apart && !inside ? 1U : 0U;
    inside = !apart;
  }
  return bytes;
}

// A byte a field, in hex or decimal.
bool are_bytes(const ColumnSample& column) {
  if (column.are_hex() && column.longest() <= 2) return true;
  if (!column.are_whole() || column.longest() > 3) return false;
  return std::ranges::all_of(column.fields, [](const std::string& text) {
    return text.empty() || parse_number(text).value_or(256) < 256;
  });
}

// All bytes of a row in one field.
bool are_payloads(const ColumnSample& column) {
  bool any = false;
  for (const std::string& text : column.fields) {
    if (text.empty()) continue;
    const bool right = std::ranges::all_of(text, [](char c) {
      return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F') ||
             c == 'x' || std::string_view(" -:_").find(c) != std::string_view::npos;
    });
    const bool apart = text.find_first_of(" -:_") != text.npos;
    if (!right || (!apart && text.size() % 2 != 0) || bytes_in(text) > 64) return false;
    any = true;
  }
  return any;
}

class Guesser {
 public:
  explicit Guesser(FramesGuess& guess) : guess_(guess), columns_(guess.sample.columns) {
    for (const ColumnSample& column : columns_) meanings_.push_back(meaning_of(column.heading));
    used_.resize(columns_.size());
  }

  // What could not be found; empty: all was.
  std::string guess() {
    FramesLayout& layout = guess_.layout;
    if (!guess_time(guess_.sample, guess_.unsure)) return "time";
    layout.table = guess_.sample.table;
    use(layout.table.time);
    take_named(ColumnMeaning::extended, layout.extended,
               [](const ColumnSample& c) { return c.longest() <= 8; });
    take_named(ColumnMeaning::length, layout.length,
               [](const ColumnSample& c) { return c.are_whole() && c.longest() <= 2; });
    if (std::optional<std::size_t> named;
        take_named(ColumnMeaning::identifier, named,
                   [](const ColumnSample& c) { return c.are_hex() && c.longest() <= 10; })) {
      layout.identifier = *named;
    }
    if (!take_data()) return "bytes";
    if (!layout.length && !first_byte_is_length()) take_length_by_count();
    if (layout.identifier == 0 && !take_identifier()) return "identifier";
    take_named(ColumnMeaning::bus, layout.bus,
               [](const ColumnSample& c) { return c.longest() <= 8; });
    settle_bases();
    return {};
  }

 private:
  void use(std::size_t column) { used_[column - 1] = true; }
  [[nodiscard]] bool is_free(std::size_t c) const { return !used_[c]; }

  template <typename Fits>
  bool take_named(ColumnMeaning meaning, std::optional<std::size_t>& column, Fits fits) {
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      if (!is_free(c) || meanings_[c] != meaning || !fits(columns_[c])) continue;
      column = c + 1;
      use(*column);
      return true;
    }
    return false;
  }

  void set_data(std::size_t first, std::size_t last) {
    guess_.layout.data_first = first + 1;
    guess_.layout.data_last = last + 1;
    for (std::size_t c = first; c <= last; ++c) use(c + 1);
  }

  // The longest run of columns with a byte each, or the column with the longest payloads; by their
  // headings where these say so.
  bool take_data() {
    for (const bool by_heading : {true, false}) {
      const auto may_be = [&](std::size_t c) {
        return is_free(c) && (!by_heading || meanings_[c] == ColumnMeaning::data);
      };
      if (take_run(may_be) || take_payloads(may_be)) return true;
    }
    return false;
  }

  template <typename MayBe>
  bool take_run(MayBe may_be) {
    std::size_t best = 0;
    std::size_t length = 0;
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      std::size_t end = c;
      while (end < columns_.size() && end - c < 64 && may_be(end) && goes_on(c, end)) {
        ++end;
      }
      if (end - c <= length) continue;
      best = c;
      length = end - c;
    }
    if (length < 2) return false;
    set_data(best, best + length - 1);
    // Longer frames may come behind the rows that were looked at.
    if (best + length == columns_.size()) {
      guess_.layout.data_last = guess_.layout.data_first + FramesLayout::to_the_end;
    }
    return true;
  }

  // Empty in all rows that were looked at: the byte of a longer frame, where its heading says so.
  [[nodiscard]] bool goes_on(std::size_t first, std::size_t c) const {
    const bool empty = columns_[c].longest() == 0;
    if (empty) return c > first && meanings_[c] == ColumnMeaning::data;
    return are_bytes(columns_[c]) && columns_[c].longest() <= 3;
  }

  template <typename MayBe>
  bool take_payloads(MayBe may_be) {
    std::size_t best = columns_.size();
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      if (!may_be(c) || !are_payloads(columns_[c])) continue;
      if (best == columns_.size() || columns_[c].longest() > columns_[best].longest()) best = c;
    }
    if (best == columns_.size()) return false;
    set_data(best, best);
    return true;
  }

  [[nodiscard]] bool counts_bytes(std::size_t c) const {
    for (std::size_t row = 0; row < guess_.sample.rows; ++row) {
      const auto number = parse_number(columns_[c].fields[row]);
      if (number != static_cast<double>(bytes_of_row(row))) return false;
    }
    return true;
  }

  // A length in front of the bytes looks like one of them.
  bool first_byte_is_length() {
    FramesLayout& layout = guess_.layout;
    const std::size_t first = layout.data_first;
    if (layout.data_last - first < 2 || meanings_[first - 1] == ColumnMeaning::data) return false;
    ++layout.data_first;
    if (!counts_bytes(first - 1)) {
      --layout.data_first;
      return false;
    }
    layout.length = first;
    if (last_byte() == columns_.size()) {
      layout.data_last = layout.data_first + FramesLayout::to_the_end;
    }
    return true;
  }

  // A column that is in every row the number of bytes.
  void take_length_by_count() {
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      if (!is_free(c) || !columns_[c].are_whole() || columns_[c].any_empty()) continue;
      if (!counts_bytes(c)) continue;
      guess_.layout.length = c + 1;
      use(c + 1);
      return;
    }
  }

  [[nodiscard]] std::size_t last_byte() const {
    return std::min(guess_.layout.data_last, columns_.size());
  }

  [[nodiscard]] std::size_t bytes_of_row(std::size_t row) const {
    const FramesLayout& layout = guess_.layout;
    if (layout.data_first == layout.data_last) {
      return bytes_in(columns_[layout.data_first - 1].fields[row]);
    }
    std::size_t bytes = 0;
    for (std::size_t c = layout.data_first; c <= last_byte(); ++c) {
      bytes += columns_[c - 1].fields[row].empty() ? 0U : 1U;
    }
    return bytes;
  }

  bool take_identifier() {
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      const ColumnSample& column = columns_[c];
      if (!is_free(c) || column.any_empty() || !column.are_hex() || column.longest() > 10) continue;
      // A line's number has as many values as there are rows.
      if (column.longest() < 2 ||
          (guess_.sample.rows > 20 && column.different() * 2 > guess_.sample.rows)) {
        continue;
      }
      guess_.layout.identifier = c + 1;
      use(c + 1);
      return true;
    }
    return false;
  }

  void settle_bases() {
    FramesLayout& layout = guess_.layout;
    const ColumnSample& identifier = columns_[layout.identifier - 1];
    const bool padded = identifier.shortest() == identifier.longest() &&
                        (identifier.longest() == 3 || identifier.longest() == 8);
    const bool said = identifier.any_letter() || identifier.any_prefix();
    layout.identifier_base = said || padded ? LayoutBase::hex : LayoutBase::decimal;
    if (!said) {
      guess_.unsure.push_back("no identifier has a letter A to F: they are taken as " +
                              std::string(padded ? "hex" : "decimal"));
    }
    bool letter = false;
    bool long_number = false;
    for (std::size_t c = layout.data_first; c <= last_byte(); ++c) {
      letter = letter || columns_[c - 1].any_letter() || columns_[c - 1].any_prefix();
      long_number =
          long_number || (layout.data_last > layout.data_first && columns_[c - 1].longest() > 2);
    }
    layout.data_base = long_number && !letter ? LayoutBase::decimal : LayoutBase::hex;
    if (!letter && !long_number) {
      guess_.unsure.emplace_back("no byte has a letter A to F: they are taken as hex");
    }
  }

  FramesGuess& guess_;
  const std::vector<ColumnSample>& columns_;
  std::vector<ColumnMeaning> meanings_;
  std::vector<bool> used_;
};

}  // namespace

bool has_own_heading(const std::filesystem::path& path) {
  auto lines = TextLines::open(path);
  if (!lines) return false;
  const auto first = lines->next();
  if (!first || !*first) return false;
  constexpr std::array<std::string_view, 8> own{"time_s",  "bus",     "identifier", "extended",
                                                "payload", "channel", "unit",       "value"};
  std::size_t found = 0;
  for (const std::string_view field : fields_of(**first, ',')) {
    found += std::ranges::find(own, field) != own.end() ? 1U : 0U;
  }
  return found >= 3;
}

Result<FramesGuess> guess_frames_layout(const std::filesystem::path& path) {
  auto sample = sample_table(path);
  if (!sample) return sample.error();
  FramesGuess guess{{}, std::move(sample).value(), {}};
  const std::string missing = Guesser(guess).guess();
  if (missing.empty()) return guess;
  return Error{ErrorCode::format,
               path.string() + ": none of its " + std::to_string(guess.sample.columns.size()) +
                   " columns looks like the " + missing +
                   "; say it with --frames-layout, such as 'separator semicolon, time 1 ms, "
                   "identifier 2 hex, data 3..10 hex'"};
}

}  // namespace foundling
