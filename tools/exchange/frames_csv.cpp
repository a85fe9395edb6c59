#include "tools/exchange/frames_csv.h"

#include <array>
#include <charconv>
#include <optional>

#include "tools/exchange/can_record.h"
#include "tools/exchange/csv_table.h"
#include "tools/exchange/decimal_seconds.h"

namespace foundling {
namespace {

constexpr std::array<std::string_view, 5> columns = {"time_s", "bus", "identifier", "extended",
                                                     "payload"};

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

template <typename Number>
std::optional<Number> parse_whole(std::string_view text, int base) {
  Number number = 0;
  const char* const end = text.data() + text.size();
  const auto [after, failure] = std::from_chars(text.data(), end, number, base);
  if (failure != std::errc{} || after != end || text.empty()) return {};
  return number;
}

std::optional<bool> parse_flag(std::string_view text) {
  if (text == "0" || text == "false" || text == "False" || text == "FALSE") return false;
  if (text == "1" || text == "true" || text == "True" || text == "TRUE") return true;
  return {};
}

class FramesCsv : public FrameFile {
 public:
  explicit FramesCsv(CsvTable table) : table_(std::move(table)) {}

  Result<std::vector<Frame>> next_batch() override {
    std::vector<Frame> batch;
    batch.reserve(frames_a_batch);
    while (batch.size() < frames_a_batch) {
      const auto row = table_.next();
      if (!row) return row.error();
      if (!*row) break;
      auto frame = frame_of(**row);
      if (!frame) return frame.error();
      batch.push_back(*frame);
    }
    return batch;
  }

  [[nodiscard]] std::vector<std::string> remarks() const override {
    return remarks_on_rounded(rounded_);
  }

 private:
  Result<Frame> frame_of(const CsvTable::Row& row) {
    Frame frame;
    const auto time = parse_seconds(row[0]);
    if (!time)
      return table_.error(row[0], "expected seconds like 12.345678901" + found_field(row[0]));
    rounded_ += time->rounded ? 1U : 0U;
    frame.t_ns = time->ns;
    const auto bus = parse_whole<std::uint8_t>(row[1], 10);
    if (!bus)
      return table_.error(row[1], "expected a bus number from 0 to 255" + found_field(row[1]));
    frame.bus = *bus;
    const auto id = identifier_of(row[2], row[3]);
    if (!id) return id.error();
    frame.id = *id;
    if (auto read = read_payload(row[4], frame); !read) return read.error();
    frame.flags = flags_of_length(frame.length);
    return frame;
  }

  Result<CanId> identifier_of(std::string_view text, std::string_view flag) {
    const auto extended = parse_flag(flag);
    if (!extended) return table_.error(flag, "expected 0 or 1 for extended" + found_field(flag));
    const auto number = parse_whole<std::uint32_t>(text, 16);
    if (!number) {
      const bool prefixed = text.size() > 1 && (text[1] == 'x' || text[1] == 'X');
      return table_.error(text, "expected an identifier in hex" +
                                    std::string(prefixed ? " without a prefix" : "") +
                                    found_field(text));
    }
    const std::uint32_t largest = *extended ? 0x1FFFFFFFU : 0x7FFU;
    if (*number > largest) {
      return table_.error(text, std::string("expected an identifier up to ") +
                                    (*extended ? "1FFFFFFF (29 bits)" : "7FF (11 bits)") +
                                    found_field(text));
    }
    return *extended ? CanId::extended(*number) : CanId::standard(*number);
  }

  Result<void> read_payload(std::string_view text, Frame& frame) {
    if (text.size() % 2 != 0) {
      return table_.error(
          text, "expected an even number of hex digits, found " + std::to_string(text.size()));
    }
    if (text.size() > 2 * frame.payload.size()) {
      return table_.error(
          text, "expected a payload of at most 64 bytes, found " + std::to_string(text.size() / 2));
    }
    if (!is_frame_length(text.size() / 2)) {
      return table_.error(text,
                          "no CAN FD frame has " + std::to_string(text.size() / 2) + " bytes");
    }
    for (std::size_t i = 0; i < text.size(); i += 2) {
      const int high = hex_digit(text[i]);
      const int low = hex_digit(text[i + 1]);
      if (high < 0 || low < 0) {
        return table_.error(
            text.substr(high < 0 ? i : i + 1, 1),
            "expected a hex digit" + found_field(text.substr(high < 0 ? i : i + 1, 1)));
      }
      frame.payload[i / 2] = static_cast<std::uint8_t>(high * 16 + low);
    }
    frame.length = static_cast<std::uint8_t>(text.size() / 2);
    return {};
  }

  CsvTable table_;
  std::uint64_t rounded_ = 0;
};

void append_hex(std::string& text, std::uint32_t value, int digits) {
  static constexpr char hex[] = "0123456789ABCDEF";
  for (int shift = (digits - 1) * 4; shift >= 0; shift -= 4) {
    text += hex[(value >> static_cast<unsigned>(shift)) & 15U];
  }
}

}  // namespace

Result<std::unique_ptr<FrameFile>> open_frames_csv(const std::filesystem::path& path) {
  auto table = CsvTable::open(path, {columns, columns.size()});
  if (!table) return table.error();
  return std::unique_ptr<FrameFile>(std::make_unique<FramesCsv>(std::move(table).value()));
}

std::uint8_t flags_of_length(std::uint8_t length) { return length > 8 ? fd_flag_fd_format : 0; }

void append_frame_csv(std::string& text, const Frame& frame, std::int64_t stamp_ns) {
  append_seconds(text, stamp_ns);
  text += ',';
  text += std::to_string(frame.bus);
  text += ',';
  append_hex(text, frame.id.number(), frame.id.is_extended() ? 8 : 3);
  text += frame.id.is_extended() ? ",1," : ",0,";
  for (const std::uint8_t byte : frame.bytes()) append_hex(text, byte, 2);
  text += '\n';
}

}  // namespace foundling
