// Counters and checksums of one message, frame by frame. Used by the sanity watch only.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "decoder/decode/checksum_formula.h"
#include "decoder/decode/sanity.h"

namespace foundling {

class CounterWatch {
 public:
  CounterWatch(const Counter& counter, std::string subject);
  void see(const Frame& frame);
  void forget() { last_.reset(); }
  [[nodiscard]] std::optional<SanityCheck> check() const;

 private:
  Counter counter_;
  std::uint64_t modulus_;
  std::uint64_t step_ = 0;  // 0..modulus - 1, also of one that counts down
  std::optional<std::uint64_t> last_;
  std::uint64_t repeated_ = 0;
  std::uint64_t skipped_ = 0;
  SanityCheck check_;
};

class ChecksumWatch {
 public:
  ChecksumWatch(const Checksum& checksum, CanId id, std::string subject);
  void see(const Frame& frame);
  [[nodiscard]] std::optional<SanityCheck> check() const;

 private:
  struct Reading {
    ChecksumFormula formula;
    std::optional<std::uint32_t> before;    // the last frame's remainder
    std::optional<std::uint32_t> constant;  // learnt: two frames running had it
    SanityCheck check;
  };
  void keep_those_that_fit();

  std::vector<Reading> readings_;
  std::uint64_t seen_ = 0;
  std::uint8_t length_ = 0;  // frames of another length than the first are not looked at
  std::string subject_;
};

}  // namespace foundling
