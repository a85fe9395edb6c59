// Frames out of another program's table.
#include <algorithm>
#include <array>
#include <charconv>

#include "tools/exchange/can_record.h"
#include "tools/exchange/csv_table.h"
#include "tools/exchange/decimal_seconds.h"
#include "tools/exchange/frames_csv.h"
#include "tools/exchange/layout/delimited_line.h"
#include "tools/exchange/layout/frames_layout.h"
#include "tools/exchange/text_lines.h"

namespace foundling {
namespace {

constexpr std::string_view between_bytes = " -:_";

// A length code beyond 8 (ISO 11898-1): some write the code, some the bytes.
constexpr std::array<std::size_t, 7> bytes_of_code{12, 16, 20, 24, 32, 48, 64};

std::string_view without_prefix(std::string_view text, LayoutBase base) {
  const bool prefixed =
      base == LayoutBase::hex && text.size() > 2 && text[0] == '0' && (text[1] | 32) == 'x';
  return prefixed ? text.substr(2) : text;
}

std::optional<std::uint32_t> number_of(std::string_view text, LayoutBase base) {
  text = without_prefix(text, base);
  std::uint32_t number = 0;
  const char* const end = text.data() + text.size();
  const auto [after, failure] =
      std::from_chars(text.data(), end, number, base == LayoutBase::hex ? 16 : 10);
  if (failure != std::errc{} || after != end || text.empty()) return {};
  return number;
}

std::optional<bool> flag_of(std::string_view text) {
  std::string word(text);
  std::ranges::transform(word, word.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  constexpr std::array<std::string_view, 7> no{"0", "false", "no", "std", "standard", "11", ""};
  constexpr std::array<std::string_view, 7> yes{"1", "true", "yes", "ext", "extended", "29", "x"};
  if (std::ranges::find(no, word) != no.end()) return false;
  if (std::ranges::find(yes, word) != yes.end()) return true;
  return {};
}

class FramesByLayout : public FrameFile {
 public:
  FramesByLayout(TextLines lines, const FramesLayout& layout)
      : lines_(std::move(lines)), layout_(layout) {}

  Result<std::vector<Frame>> next_batch() override {
    std::vector<Frame> batch;
    batch.reserve(frames_a_batch);
    while (batch.size() < frames_a_batch) {
      const auto line = lines_.next();
      if (!line) return line.error();
      if (!*line) break;
      line_ = **line;
      if (lines_.number() <= layout_.table.skip) continue;
      fields_ = fields_of(line_, layout_.table.separator);
      if (fields_.empty() || (fields_.size() == 1 && fields_[0].empty())) continue;
      auto frame = frame_of();
      if (!frame) return frame.error();
      batch.push_back(*frame);
    }
    return batch;
  }

  [[nodiscard]] std::vector<std::string> remarks() const override {
    return remarks_on_rounded(rounded_);
  }

 private:
  [[nodiscard]] Error error(std::string_view field, const std::string& problem) const {
    return table_error(lines_.name(), lines_.number(), line_, field, problem);
  }

  Result<std::string_view> column(std::size_t number) const {
    if (number <= fields_.size()) return fields_[number - 1];
    return error(line_.substr(line_.size()), "expected a column " + std::to_string(number) +
                                                 ", found " + std::to_string(fields_.size()) +
                                                 " columns");
  }

  Result<Frame> frame_of() {
    Frame frame;
    const auto stamp = column(layout_.table.time);
    if (!stamp) return stamp.error();
    const auto time = layout_time(*stamp, layout_.table);
    if (!time) return error(*stamp, time_expected(layout_.table.unit) + found_field(*stamp));
    rounded_ += time->rounded ? 1U : 0U;
    frame.t_ns = time->ns;
    if (auto read = read_bus(frame); !read) return read.error();
    if (auto read = read_identifier(frame); !read) return read.error();
    if (auto read = read_bytes(frame); !read) return read.error();
    frame.flags = flags_of_length(frame.length);
    return frame;
  }

  // A number, or a word that ends in one: "can1".
  Result<void> read_bus(Frame& frame) const {
    if (!layout_.bus) return {};
    const auto text = column(*layout_.bus);
    if (!text) return text.error();
    const std::size_t letters = text->find_last_not_of("0123456789");
    const std::size_t begin = letters == std::string_view::npos ? 0 : letters + 1;
    const auto number = number_of(text->substr(begin), LayoutBase::decimal);
    if (!number || *number > 255) {
      return error(*text, "expected a bus number from 0 to 255" + found_field(*text));
    }
    frame.bus = static_cast<std::uint8_t>(*number);
    return {};
  }

  Result<void> read_identifier(Frame& frame) const {
    const auto text = column(layout_.identifier);
    if (!text) return text.error();
    const LayoutBase base = layout_.identifier_base;
    const auto number = number_of(*text, base);
    if (!number || *number > 0x1FFFFFFFU) {
      return error(*text, std::string("expected an identifier in ") +
                              (base == LayoutBase::hex ? "hex" : "decimal") +
                              " of 29 bits at most" + found_field(*text));
    }
    // Four digits and more are written for 29 bits, zeros in front.
    bool extended =
        *number > 0x7FFU || (base == LayoutBase::hex && without_prefix(*text, base).size() > 4);
    if (layout_.extended) {
      const auto flag_text = column(*layout_.extended);
      if (!flag_text) return flag_text.error();
      const auto flag = flag_of(*flag_text);
      if (!flag) return error(*flag_text, "expected 0 or 1 for 29 bits" + found_field(*flag_text));
      extended = *flag;
    }
    if (!extended && *number > 0x7FFU) {
      return error(*text, "expected an identifier of 11 bits" + found_field(*text));
    }
    frame.id = extended ? CanId::extended(*number) : CanId::standard(*number);
    return {};
  }

  Result<void> read_bytes(Frame& frame) {
    bytes_.clear();
    const bool one = layout_.data_first == layout_.data_last;
    auto read = one ? read_one_column() : read_columns();
    if (!read) return read;
    const auto length = length_of(one);
    if (!length) return length.error();
    if (!is_frame_length(*length)) {
      return error(place_of_bytes(), "no CAN frame has " + std::to_string(*length) + " bytes");
    }
    std::copy_n(bytes_.begin(), *length, frame.payload.begin());
    frame.length = static_cast<std::uint8_t>(*length);
    return {};
  }

  [[nodiscard]] std::string_view place_of_bytes() const {
    return layout_.data_first <= fields_.size() ? fields_[layout_.data_first - 1]
                                                : line_.substr(line_.size());
  }

  // What the length's column says, where there is one: some fill the columns behind with zeros.
  Result<std::size_t> length_of(bool one_column) const {
    const std::size_t found = bytes_.size();
    if (!layout_.length) return found;
    const auto text = column(*layout_.length);
    if (!text) return text.error();
    const auto said = number_of(*text, LayoutBase::decimal);
    if (!said) return error(*text, "expected a length" + found_field(*text));
    if (*said > 8 && *said < 16 && bytes_of_code.at(*said - 9) == found) return found;
    if (*said > found || (one_column && *said < found)) {
      return error(place_of_bytes(), "expected " + std::to_string(*said) +
                                         (*said == 1 ? " byte" : " bytes") + ", as column " +
                                         std::to_string(*layout_.length) + " says, found " +
                                         std::to_string(found));
    }
    return std::size_t{*said};
  }

  Result<void> add_byte(std::string_view text) {
    const auto number = number_of(text, layout_.data_base);
    if (!number || *number > 255) {
      return error(text, std::string("expected a byte in ") +
                             (layout_.data_base == LayoutBase::hex ? "hex" : "decimal") +
                             found_field(text));
    }
    if (bytes_.size() == 64) return error(text, "expected 64 bytes at most, found more");
    bytes_.push_back(static_cast<std::uint8_t>(*number));
    return {};
  }

  Result<void> read_columns() {
    bool ended = false;
    for (std::size_t c = layout_.data_first; c <= std::min(layout_.data_last, fields_.size());
         ++c) {
      const std::string_view text = fields_[c - 1];
      if (text.empty()) {
        ended = true;
        continue;
      }
      if (ended) return error(text, "expected nothing behind an empty byte" + found_field(text));
      if (auto added = add_byte(text); !added) return added;
    }
    return {};
  }

  // "0x0102", "01 02", "01-02".
  Result<void> read_one_column() {
    const auto column_text = column(layout_.data_first);
    if (!column_text) return column_text.error();
    std::string_view text = *column_text;
    const bool apart =
        text.find_first_of(between_bytes) != text.npos || layout_.data_base == LayoutBase::decimal;
    if (!apart) {
      text = without_prefix(text, LayoutBase::hex);
      if (text.size() % 2 != 0 && text.size() > 1) {
        return error(text, "expected two hex digits for each byte, found " +
                               std::to_string(text.size()) + " digits");
      }
    }
    while (!text.empty()) {
      const std::size_t end = apart ? std::min(text.find_first_of(between_bytes), text.size())
                                    : std::min<std::size_t>(2, text.size());
      if (end > 0) {
        if (auto added = add_byte(text.substr(0, end)); !added) return added;
      }
      text.remove_prefix(std::min(apart ? end + 1 : end, text.size()));
    }
    return {};
  }

  TextLines lines_;
  FramesLayout layout_;
  std::string_view line_;
  std::vector<std::string_view> fields_;
  std::vector<std::uint8_t> bytes_;  // of the line that is read
  std::uint64_t rounded_ = 0;
};

}  // namespace

Result<std::unique_ptr<FrameFile>> open_frames_by_layout(const std::filesystem::path& path,
                                                         const FramesLayout& layout) {
  auto lines = TextLines::open(path);
  if (!lines) return lines.error();
  return std::unique_ptr<FrameFile>(
      std::make_unique<FramesByLayout>(std::move(lines).value(), layout));
}

}  // namespace foundling
