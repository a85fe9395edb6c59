#include "decoder/analysis/crc_fit.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <set>

#include "decoder/analysis/crc_catalogue.h"

namespace foundling {
namespace {

constexpr double least_share = 0.97;  // of the differences
constexpr double spare_evidence_bits = 14;
constexpr std::size_t most_differences = 300;

struct Difference {
  Payload data{};
  std::uint32_t checksum = 0;
  int bytes = 0;  // that differ, outside the checksum
};

std::vector<Difference> differences(const ChecksumSamples& samples, const ChecksumPlace& place) {
  std::vector<Difference> result;
  std::map<std::uint64_t, std::size_t> last;
  for (std::size_t i = 0; i < samples.rows.size() && result.size() < most_differences; ++i) {
    const auto [before, fresh] = last.try_emplace(samples.group[i], i);
    if (fresh) continue;
    Difference d;
    for (std::size_t b = 0; b < d.data.size(); ++b) {
      d.data[b] = samples.rows[i][b] ^ samples.rows[before->second][b];
      if (d.data[b] != 0 && !place.owns(static_cast<int>(b))) ++d.bytes;
    }
    d.checksum = static_cast<std::uint32_t>(extract(place.span, d.data));
    before->second = i;
    if (d.bytes > 0 || d.checksum != 0) result.push_back(d);
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const auto& a, const auto& b) { return a.bytes > b.bytes; });
  return result;
}

std::vector<std::uint32_t> polynomials(int width) {
  std::set<std::uint32_t> known;
  for (const PublishedCrc& row : published_crcs()) {
    if (row.width == width) known.insert(row.polynomial);
  }
  if (width == 8) {
    for (std::uint32_t p = 3; p < 256; p += 2) known.insert(p);  // 01 is the exclusive-or
  }
  return {known.begin(), known.end()};
}

// Where the fed bytes may start and end. Starts are moving bytes: those before them that never
// move act as a start value. A long payload tries the likely ends only.
struct Ranges {
  std::vector<int> starts;
  std::vector<int> ends;
};

Ranges ranges(const ChecksumSamples& samples, const ChecksumPlace& place) {
  Ranges result;
  std::vector<int> moving;
  for (int b = 0; b < samples.length; ++b) {
    if (samples.moving[static_cast<std::size_t>(b)] && !place.owns(b)) moving.push_back(b);
  }
  if (moving.empty()) return result;
  const bool all = samples.length <= 16;
  for (const int b : moving) {
    const bool after =
        b > place.last &&
        (moving.front() > place.last || b == moving.front() ||
         *std::find_if(moving.begin(), moving.end(), [&](int m) { return m > place.last; }) == b);
    if (all || b == moving.front() || after) result.starts.push_back(b);
  }
  for (int b = moving.front(); b < samples.length; ++b) {
    if (place.owns(b) && b + 1 < samples.length) continue;
    if (all || b >= moving.back() || b == place.first - 1) result.ends.push_back(b);
  }
  return result;
}

class Fit {
 public:
  Fit(const ChecksumSamples& samples, const ChecksumPlace& place)
      : samples_(samples),
        place_(place),
        differences_(differences(samples, place)),
        ranges_(ranges(samples, place)) {}

  std::vector<CrcModel> run() {
    if (differences_.size() < 8 || ranges_.starts.empty()) return {};
    for (const std::uint32_t polynomial : polynomials(place_.width)) {
      for (const bool reflected : {false, true}) try_all(polynomial, reflected);
    }
    std::vector<CrcModel> proven;
    for (const CrcModel& model : found_) {
      if (place_.width * rank(model) >= std::log2(tried_) + spare_evidence_bits) {
        proven.push_back(model);
      }
    }
    return proven;
  }

 private:
  void try_all(std::uint32_t polynomial, bool reflected) {
    const CrcRegister crc(place_.width, polynomial, reflected);
    for (const int from : ranges_.starts) {
      for (const int to : ranges_.ends) {
        if (to < from || !covers_half(from, to)) continue;
        const bool inside = from < place_.first && to > place_.last;
        for (const bool own_as_zero : {false, true}) {
          if (own_as_zero && !inside) continue;
          for (const int trailing : {0, 1, 2, 4}) {
            const CrcModel model{polynomial, reflected, from, to, trailing, own_as_zero};
            ++tried_;
            if (fits(crc, model)) found_.push_back(model);
          }
        }
      }
    }
  }

  // A check over few of the moving bytes guards nothing; a chance fit there is likelier.
  bool covers_half(int from, int to) const {
    int inside = 0;
    int all = 0;
    for (int b = 0; b < samples_.length; ++b) {
      if (!samples_.moving[static_cast<std::size_t>(b)] || place_.owns(b)) continue;
      ++all;
      if (b >= from && b <= to) ++inside;
    }
    return 2 * inside >= all;
  }

  bool fits(const CrcRegister& crc, const CrcModel& model) const {
    std::size_t misses = 0;
    for (std::size_t k = 0; k < differences_.size(); ++k) {
      const Difference& d = differences_[k];
      std::uint32_t value = feed(crc, 0, model, place_, d.data);
      for (int t = 0; t < model.trailing; ++t) value = crc.step(value, 0);
      if (value != d.checksum) {
        ++misses;
        if (k < 2 || static_cast<double>(misses) >
                         (1 - least_share) * static_cast<double>(differences_.size())) {
          return false;
        }
      }
    }
    return true;
  }

  // How many of the differences are independent, in the bytes that take part.
  int rank(const CrcModel& model) const {
    std::vector<BitMask> basis;
    for (const Difference& d : differences_) {
      BitMask row{};
      for (int b = model.from; b <= model.to; ++b) {
        if (place_.owns(b)) continue;
        row[static_cast<std::size_t>(b / 8)] |=
            static_cast<std::uint64_t>(d.data[static_cast<std::size_t>(b)]) << (b % 8 * 8);
      }
      for (const BitMask& b : basis) {
        BitMask sum = row;
        for (std::size_t w = 0; w < row.size(); ++w) sum[w] ^= b[w];
        row = std::min(row, sum);
      }
      if (row != BitMask{}) basis.push_back(row);
    }
    return static_cast<int>(basis.size());
  }

  const ChecksumSamples& samples_;
  const ChecksumPlace& place_;
  std::vector<Difference> differences_;
  Ranges ranges_;
  std::vector<CrcModel> found_;
  double tried_ = 0;
};

}  // namespace

std::uint32_t feed(const CrcRegister& crc, std::uint32_t start, const CrcModel& model,
                   const ChecksumPlace& place, const Payload& row) {
  std::uint32_t value = start;
  for (int b = model.from; b <= model.to; ++b) {
    if (place.owns(b)) {
      if (model.own_as_zero) value = crc.step(value, 0);
      continue;
    }
    value = crc.step(value, row[static_cast<std::size_t>(b)]);
  }
  return value;
}

std::vector<CrcModel> fit_crc(const ChecksumSamples& samples, const ChecksumPlace& place) {
  return Fit(samples, place).run();
}

}  // namespace foundling
