#include "decoder/analysis/survey_copies.h"

#include <algorithm>
#include <map>
#include <set>

namespace foundling {
namespace {

constexpr std::size_t least_values = 8;  // fewer are flags, which may agree for other reasons

bool moves(const BitMask& moved, int byte) {
  return ((moved[static_cast<std::size_t>(byte / 8)] >> (byte % 8 * 8)) & 0xFFU) != 0;
}

bool is_same(const SurveyRows& rows, int a, int b) {
  for (std::size_t i = 0; i < rows.size; ++i) {
    if (rows.byte(i, a) != rows.byte(i, b)) return false;
  }
  return rows.size > 1;
}

// Values that `bytes` bytes from `first` took together, counted as far as it matters.
bool says_enough(const SurveyRows& rows, int first, int bytes) {
  std::set<std::uint64_t> values;
  for (std::size_t i = 0; i < rows.size && values.size() < least_values; ++i) {
    std::uint64_t value = 0;
    for (int b = first; b < first + std::min(bytes, 8); ++b) value = value << 8U | rows.byte(i, b);
    values.insert(value);
  }
  return values.size() >= least_values;
}

Span bytes_of(int first, int count) {
  return {{static_cast<std::uint8_t>(first), 7}, {static_cast<std::uint8_t>(first + count - 1), 0}};
}

}  // namespace

std::vector<CopyFinding> survey_copies(const SurveyRows& rows) {
  std::vector<CopyFinding> copies;
  std::vector<bool> taken(static_cast<std::size_t>(rows.length));
  const auto free = [&](int byte) { return !taken[static_cast<std::size_t>(byte)]; };
  for (int a = 0; a < rows.length; ++a) {
    if (!moves(rows.moved, a) || !free(a)) continue;
    for (int b = a + 1; b < rows.length && free(a); ++b) {
      int run = 0;
      while (a + run < b && b + run < rows.length && run < 8 && free(b + run) && free(a + run) &&
             is_same(rows, a + run, b + run)) {
        ++run;
      }
      // Constant bytes at its end are nobody's copy.
      while (run > 0 && !moves(rows.moved, a + run - 1)) --run;
      if (run == 0 || !says_enough(rows, a, run)) continue;
      copies.push_back({bytes_of(a, run), bytes_of(b, run)});
      for (int k = 0; k < run; ++k) {
        taken[static_cast<std::size_t>(a + k)] = taken[static_cast<std::size_t>(b + k)] = true;
      }
    }
  }
  return copies;
}

bool is_explained(const ChecksumFinding& checksum, const std::vector<CopyFinding>& copies,
                  const BitMask& moved) {
  if (copies.empty() || (checksum.kind != "xor8" && checksum.polynomial != "01")) return false;
  const int own = std::min(checksum.span.msb.byte, checksum.span.lsb.byte);
  std::map<int, int> times;  // of what each byte says, named by the first byte that says it
  for (int byte = 0; byte <= std::max(checksum.last_byte, checksum.span.last_byte()); ++byte) {
    const bool takes_part = (byte >= checksum.first_byte && byte <= checksum.last_byte) ||
                            (byte >= own && byte <= checksum.span.last_byte());
    if (!takes_part || !moves(moved, byte)) continue;
    int name = byte;
    for (const CopyFinding& copy : copies) {
      if (byte >= copy.second.msb.byte && byte <= copy.second.lsb.byte) {
        name = copy.first.msb.byte + byte - copy.second.msb.byte;
      }
    }
    ++times[name];
  }
  return std::all_of(times.begin(), times.end(),
                     [](const auto& one) { return one.second % 2 == 0; });
}

}  // namespace foundling
