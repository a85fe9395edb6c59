#include "decoder/analysis/survey_checksums.h"

#include <algorithm>

#include "decoder/analysis/crc_fit.h"
#include "decoder/analysis/crc_name.h"
#include "decoder/analysis/survey_affine.h"
#include "decoder/analysis/survey_sums.h"

namespace foundling {
namespace {

constexpr std::size_t most_samples = 600;
constexpr std::size_t least_samples = 12;

// Fields of whole bytes where a checksum of that width may be, both byte orders.
std::vector<ChecksumPlace> places(int length, int width) {
  std::vector<ChecksumPlace> result;
  const int bytes = width / 8;
  for (int first = 0; first + bytes <= length; ++first) {
    const auto low = static_cast<std::uint8_t>(first);
    const auto high = static_cast<std::uint8_t>(first + bytes - 1);
    const Span big{{low, 7}, {high, 0}};
    const Span little{{high, 7}, {low, 0}};
    result.push_back({big, low, high, width});
    if (bytes > 1) result.push_back({little, low, high, width});
  }
  return result;
}

bool taken(const std::vector<ChecksumFinding>& found, const Span& span) {
  return std::any_of(found.begin(), found.end(),
                     [&](const ChecksumFinding& f) { return f.span.overlaps(span); });
}

bool all_bytes_move(const ChecksumSamples& samples, const ChecksumPlace& place) {
  for (int b = place.first; b <= place.last; ++b) {
    if (!samples.moving[static_cast<std::size_t>(b)]) return false;
  }
  return true;
}

void find_crcs(const ChecksumSamples& samples, const AffineRelations& relations,
               std::vector<ChecksumFinding>& found) {
  if (relations.none()) return;
  for (const int width : {32, 16, 8}) {
    for (const ChecksumPlace& place : places(samples.length, width)) {
      if (taken(found, place.span) || !all_bytes_move(samples, place) ||
          !relations.determine(place.span)) {
        continue;
      }
      const auto models = fit_crc(samples, place);
      if (!models.empty()) found.push_back(name_crc(samples, place, models));
    }
  }
}

void find_sums(const ChecksumSamples& samples, std::vector<ChecksumFinding>& found) {
  if (const auto j1939 = find_j1939(samples)) {
    if (!taken(found, j1939->span)) found.push_back(*j1939);
  }
  for (const int width : {16, 8}) {
    for (const ChecksumPlace& place : places(samples.length, width)) {
      if (taken(found, place.span) || !all_bytes_move(samples, place)) continue;
      if (const auto sum = find_byte_sum(samples, place)) found.push_back(*sum);
    }
  }
  for (std::uint8_t b = 0; b < samples.length; ++b) {
    for (const std::uint8_t low : {std::uint8_t{0}, std::uint8_t{4}}) {
      const Span nibble{{b, static_cast<std::uint8_t>(low + 3)}, {b, low}};
      if (!samples.moving[b] || taken(found, nibble)) continue;
      if (const auto sum = find_nibble_sum(samples, nibble)) found.push_back(*sum);
    }
  }
}

// How often the laziest bit of a field changes from one frame to the next. All bits of a checksum
// are restless; a quantity's high bits are not.
double restlessness(const SurveyRows& rows, const Span& span) {
  double least = 1;
  for (int i = 0; i < span.width(); ++i) {
    const BitPosition p = span.position(i);
    std::size_t changes = 0;
    std::size_t pairs = 0;
    for (std::size_t k = 1; k < rows.size; ++k) {
      if (rows.follows[k] == 0) continue;
      ++pairs;
      const unsigned changed =
          static_cast<unsigned>(rows.byte(k, p.byte)) ^ rows.byte(k - 1, p.byte);
      changes += (changed >> p.bit) & 1U;
    }
    least = std::min(
        least, static_cast<double>(changes) / static_cast<double>(std::max<std::size_t>(pairs, 1)));
  }
  return least;
}

// A formula that holds for the checksum holds, turned round, for every byte that takes part in it.
// One of them is the checksum: the most restless, in a customary place and of customary make.
double likelihood(const SurveyRows& rows, const ChecksumFinding& finding) {
  const bool at_end = finding.span.last_byte() == rows.length - 1;
  const bool at_start = finding.span.msb.byte == 0 || finding.span.lsb.byte == 0;
  const bool trivial = finding.polynomial == "01";  // no more than an exclusive-or
  return 20 * std::min(restlessness(rows, finding.span), 0.5) + (finding.name.empty() ? 0 : 2) +
         (at_end     ? 2
          : at_start ? 1
                     : 0) -
         (trivial ? 4 : 0);
}

bool concerns(const ChecksumFinding& a, const ChecksumFinding& b) {
  const int low = std::min({a.first_byte, int{a.span.msb.byte}, int{a.span.lsb.byte}});
  const int high = std::max(a.last_byte, a.span.last_byte());
  return b.span.last_byte() >= low && std::min(b.span.msb.byte, b.span.lsb.byte) <= high;
}

std::vector<ChecksumFinding> most_likely(const SurveyRows& rows,
                                         std::vector<ChecksumFinding> found) {
  std::stable_sort(found.begin(), found.end(), [&](const auto& a, const auto& b) {
    return likelihood(rows, a) > likelihood(rows, b);
  });
  std::vector<ChecksumFinding> kept;
  for (ChecksumFinding& finding : found) {
    const bool implied = std::any_of(kept.begin(), kept.end(), [&](const ChecksumFinding& k) {
      return concerns(k, finding) || concerns(finding, k);
    });
    if (!implied) kept.push_back(std::move(finding));
  }
  return kept;
}

}  // namespace

std::vector<ChecksumFinding> survey_checksums(const SurveyRows& rows, CanId id,
                                              const std::vector<Span>& groups) {
  std::vector<ChecksumFinding> found;
  const ChecksumSamples samples = checksum_samples(rows, id, most_samples);
  if (samples.rows.size() < least_samples) return found;
  // An exclusive-or is a trivial CRC too: it is called by its simpler name.
  find_sums(samples, found);
  find_crcs(samples, AffineRelations(rows), found);
  for (const Span& group : groups) {
    if (!found.empty()) break;
    find_crcs(checksum_samples(rows, id, 4 * most_samples, &group), AffineRelations(rows, &group),
              found);
  }
  found = most_likely(rows, std::move(found));
  std::sort(found.begin(), found.end(),
            [](const auto& a, const auto& b) { return a.span < b.span; });
  return found;
}

}  // namespace foundling
