#include "decoder/analysis/survey_checksums.h"

#include <algorithm>

#include "decoder/analysis/crc_fit.h"
#include "decoder/analysis/crc_name.h"
#include "decoder/analysis/survey_affine.h"
#include "decoder/analysis/survey_copies.h"
#include "decoder/analysis/survey_cost.h"
#include "decoder/analysis/survey_sums.h"

namespace foundling {
namespace {

constexpr std::size_t most_samples = 600;
constexpr std::size_t least_samples = 12;
constexpr std::size_t most_rows_weighed = 4096;
constexpr double as_good_as_random = 0.95;  // bits a bit; above it, the rest is luck

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

// In bits, how much shorter the recording becomes by saying that this field is the checksum. A
// formula that holds for the checksum holds, turned round, for every byte that takes part in it;
// whichever is called the checksum need not be written down, and all others must. The true one is
// the hardest to foretell. Where they are alike, customs of the trade decide.
double worth(const SurveyRows& rows, const ChecksumFinding& finding) {
  const double frames = static_cast<double>(rows.size);
  const double bits =
      std::min(cost_a_frame(rows, finding.span), as_good_as_random * finding.span.width());
  const bool at_end = finding.span.last_byte() == rows.length - 1;
  const bool at_start = finding.span.msb.byte == 0 || finding.span.lsb.byte == 0;
  const bool trivial = finding.polynomial == "01";  // no more than an exclusive-or
  return frames * bits + (finding.name.empty() ? 0 : 8) +
         (at_end     ? 4
          : at_start ? 3
                     : 0) -
         (trivial ? 12 : 0);
}

bool concerns(const ChecksumFinding& a, const ChecksumFinding& b) {
  const int low = std::min({a.first_byte, int{a.span.msb.byte}, int{a.span.lsb.byte}});
  const int high = std::max(a.last_byte, a.span.last_byte());
  return b.span.last_byte() >= low && std::min(b.span.msb.byte, b.span.lsb.byte) <= high;
}

std::vector<ChecksumFinding> most_likely(const SurveyRows& rows,
                                         std::vector<ChecksumFinding> found) {
  const SurveyRows few = thinned(rows, most_rows_weighed);
  std::vector<std::pair<double, std::size_t>> order;
  for (std::size_t i = 0; i < found.size(); ++i) order.emplace_back(-worth(few, found[i]), i);
  std::sort(order.begin(), order.end());
  std::vector<ChecksumFinding> kept;
  for (const auto& [negated_worth, i] : order) {
    ChecksumFinding& finding = found[i];
    const bool implied = std::any_of(kept.begin(), kept.end(), [&](const ChecksumFinding& k) {
      return concerns(k, finding) || concerns(finding, k);
    });
    if (!implied) kept.push_back(std::move(finding));
  }
  return kept;
}

}  // namespace

std::vector<ChecksumFinding> survey_checksums(const SurveyRows& rows, CanId id,
                                              const std::vector<Span>& groups,
                                              const std::vector<CopyFinding>& copies) {
  std::vector<ChecksumFinding> found;
  const SurveyRows different = different_rows(rows);
  const ChecksumSamples samples = checksum_samples(different, id, most_samples);
  if (samples.rows.size() < least_samples) return found;
  // An exclusive-or is a trivial CRC too: it is called by its simpler name.
  find_sums(samples, found);
  find_crcs(samples, AffineRelations(different), found);
  for (const Span& group : groups) {
    if (!found.empty()) break;
    find_crcs(checksum_samples(different, id, 4 * most_samples, &group),
              AffineRelations(different, &group), found);
  }
  std::erase_if(found,
                [&](const ChecksumFinding& f) { return is_explained(f, copies, rows.moved); });
  found = most_likely(rows, std::move(found));
  std::sort(found.begin(), found.end(),
            [](const auto& a, const auto& b) { return a.span < b.span; });
  return found;
}

}  // namespace foundling
