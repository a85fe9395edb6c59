// Applies a signal map to frames. Pure. A map is compiled once into a plan for each message; a
// frame then costs one look-up and a few operations a value. A frame too short for a field has no
// value of it; remote and error frames have none at all.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string_view>

#include "schemas/signals/field.h"
#include "schemas/signals/signal_map.h"
#include "schemas/values/frame.h"

namespace foundling {

enum class ValueKind : std::uint8_t {
  number,    // `number` in the signal's unit; how it is rounded: decimal_line.h
  state,     // `word`
  reserved,  // `word` says why there is no number: not-available, error, not-a-number,
             // outside-table
  code,      // a state signal's raw code without a word: `raw`
};

struct DecodedValue {
  std::int64_t t_ns = 0;
  std::uint64_t raw = 0;  // the field's bits, unsigned
  double number = 0;
  std::string_view word;    // lives as long as the decoder
  std::uint32_t field = 0;  // into Decoder::fields()
  ValueKind kind = ValueKind::number;
};

class Decoder {
 public:
  // Only fields that `wanted` accepts; an empty function accepts all. Refuted signals never are.
  explicit Decoder(const SignalMap& map, const std::function<bool(const Field&)>& wanted = {});
  Decoder(Decoder&&) noexcept;
  Decoder& operator=(Decoder&&) noexcept;
  ~Decoder();

  [[nodiscard]] std::span<const Field> fields() const;
  [[nodiscard]] const SignalEntry& entry(const Field& field) const;
  [[nodiscard]] bool knows(std::uint8_t bus, CanId id) const;

  // The values of one frame; they stand until the next call.
  [[nodiscard]] std::span<const DecodedValue> decode(const Frame& frame);
  [[nodiscard]] std::span<const DecodedValue> decode(std::uint8_t bus, CanId id, std::int64_t t_ns,
                                                     std::span<const std::uint8_t> payload);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
