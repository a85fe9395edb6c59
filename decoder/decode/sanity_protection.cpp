#include "decoder/decode/sanity_protection.h"

#include <algorithm>
#include <utility>

namespace foundling {
namespace {

constexpr std::uint64_t frames_to_decide = 2000;

void note_failure(SanityCheck& check, std::int64_t t_ns) {
  if (check.failed++ == 0) check.first_ns = t_ns;
  check.last_ns = t_ns;
}

std::string of_frames(const SanityCheck& check) {
  return std::to_string(check.failed) + " of " + std::to_string(check.looked) + " frames";
}

}  // namespace

CounterWatch::CounterWatch(const Counter& counter, std::string subject)
    : counter_(counter), modulus_(counter.modulus) {
  if (modulus_ == 0) {
    const int width = counter.span.width();
    modulus_ = width >= 63 ? std::uint64_t{1} << 63U : std::uint64_t{1} << width;
  }
  const auto modulus = static_cast<std::int64_t>(modulus_);
  step_ = static_cast<std::uint64_t>((counter_.step % modulus + modulus) % modulus);
  check_.kind = SanityKind::counter;
  check_.subject = std::move(subject);
}

void CounterWatch::see(const Frame& frame) {
  if (frame.length <= counter_.span.last_byte()) return;
  const std::uint64_t value = extract(counter_.span, frame.bytes());
  const auto last = std::exchange(last_, value);
  if (!last) return;
  ++check_.looked;
  check_.failing_now = value != (*last + step_) % modulus_;
  if (!check_.failing_now) return;
  ++(value == *last ? repeated_ : skipped_);
  note_failure(check_, frame.t_ns);
}

std::optional<SanityCheck> CounterWatch::check() const {
  if (check_.looked == 0) return {};
  SanityCheck check = check_;
  if (check.failed == 0) {
    check.text = "counts on in all " + std::to_string(check.looked) + " frames";
  } else {
    check.text = "did not count in " + std::to_string(repeated_) + " and skipped in " +
                 std::to_string(skipped_) + " of " + std::to_string(check.looked) + " frames";
    if (check.failed * 2 > check.looked) check.text += "; the map's counter may be wrong";
  }
  return check;
}

ChecksumWatch::ChecksumWatch(const Checksum& checksum, CanId id, std::string subject)
    : subject_(std::move(subject)) {
  for (const ChecksumFormula& formula : ChecksumFormula::readings_of(checksum, id)) {
    Reading reading{formula, {}, {}, {}};
    if (checksum.kind == "j1939") reading.constant = 0;
    reading.check.kind = SanityKind::checksum;
    reading.check.subject = subject_;
    readings_.push_back(std::move(reading));
  }
}

void ChecksumWatch::see(const Frame& frame) {
  if (length_ == 0) length_ = frame.length;
  if (frame.length != length_) return;
  for (Reading& reading : readings_) {
    const auto remainder = reading.formula.remainder(frame.bytes());
    if (!remainder) return;
    const auto before = std::exchange(reading.before, *remainder);
    if (!reading.constant && before == remainder) reading.constant = *remainder;
    ++reading.check.looked;
    reading.check.failing_now = reading.constant && *remainder != *reading.constant;
    if (reading.check.failing_now) note_failure(reading.check, frame.t_ns);
  }
  if (++seen_ == frames_to_decide) keep_those_that_fit();
}

// By then the readings that the statement does not mean have failed again and again.
void ChecksumWatch::keep_those_that_fit() {
  std::uint64_t least = ~std::uint64_t{0};
  for (const Reading& reading : readings_) {
    if (reading.constant) least = std::min(least, reading.check.failed);
  }
  std::erase_if(readings_, [least](const Reading& reading) {
    return reading.constant && reading.check.failed > 100 + 10 * least;
  });
}

// Of the readings that the statement leaves open, the one that fits best.
std::optional<SanityCheck> ChecksumWatch::check() const {
  const Reading* best = nullptr;
  for (const Reading& reading : readings_) {
    if (!reading.constant || reading.check.looked < 2) continue;
    if (best == nullptr || reading.check.failed < best->check.failed) best = &reading;
  }
  if (best == nullptr) return {};
  SanityCheck check = best->check;
  if (check.failed == 0) {
    check.text = "fits in all " + std::to_string(check.looked) + " frames";
  } else {
    check.text = "does not fit in " + of_frames(check);
    if (check.failed * 2 > check.looked) check.text += "; the map's checksum may be wrong";
  }
  return check;
}

}  // namespace foundling
