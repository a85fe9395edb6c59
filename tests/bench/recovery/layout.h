// Messages of a board: which fields, where they lie, how often they are sent.
#pragma once

#include <bitset>
#include <optional>
#include <string>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/span.h"
#include "tests/bench/recovery/check_codes.h"
#include "tests/bench/recovery/quantities.h"
#include "tests/bench/recovery/window.h"

namespace foundling::recovery {

struct FieldSpec {
  enum class Use { value, state, selector, counter, check, walk, constant };
  Use use = Use::value;
  int quantity = -1;  // index into the board's quantities
  Encoding code;      // its width holds for every use
  double noise = 0;   // standard deviation ahead of quantisation, unit of the quantity
  double delay_s = 0;
  double time_constant_s = 0;
  double update_s = 0;  // the board measures only so often; 0: for every frame
  double gain = 1;      // board's reading = gain * true + zero
  double zero = 0;
  bool truncates = false;
  double least = 0;  // measuring range of the board; equal bounds: no limit
  double most = 0;
  double reserved_until_s = 0;  // holds all ones before
  std::vector<Substitute> substitutes;
  std::vector<std::uint64_t> codes;  // of a state field, by state index; one for a constant
  std::int64_t step = 1;             // of a counter
  std::uint64_t modulus = 16;
  CheckCode check;
  Span span;
  int page = -1;  // index into the message's pages

  // What it sends instead of its value; null while it measures.
  [[nodiscard]] const Substitute* substitute_at(double t) const { return at(substitutes, t); }
  static const Substitute* at(const std::vector<Substitute>& all, double t) {
    for (const Substitute& one : all) {
      if (one.during.holds(t)) return &one;
    }
    return nullptr;
  }
};

struct MessageSpec {
  std::uint8_t bus = 0;
  CanId id;
  int length = 8;
  bool fd = false;
  double period_s = 0.1;
  double jitter = 0.01;       // of the period
  bool event_driven = false;  // sent on change, and at least every period
  std::uint8_t padding = 0;
  std::vector<FieldSpec> fields;
  std::optional<Span> selector;
  std::vector<std::uint64_t> pages;
  std::vector<std::size_t> page_order;  // of one round, places in `pages`
  std::vector<Substitute> blanks;       // the whole payload is zeros or ones, counter and check too
  std::optional<Window> silent;         // before a reset: no frames, then all begins anew
};

// Puts fields into messages in the order they come, opening a new message when one is full.
class Packer {
 public:
  Packer(const Recipe& recipe, Rng& rng) : recipe_(recipe), rng_(rng) {}

  void place(FieldSpec field);
  void close();  // ends the open message
  // All fields into one new message whose pages each hold as many as fit.
  void place_on_pages(const std::vector<FieldSpec>& fields);
  void open(int length);  // begins a message with its counter and check, or without
  [[nodiscard]] std::vector<MessageSpec> take() { return std::move(messages_); }

 private:
  void add_frame_guards();
  void add_check(BitPosition byte_top, int width);
  std::optional<Span> find(int width, const std::bitset<512>& used, int from) const;
  void occupy(const Span& span);
  CanId draw_identifier();
  [[nodiscard]] Span run(int k, int width) const;

  const Recipe& recipe_;
  Rng& rng_;
  std::vector<MessageSpec> messages_;
  MessageSpec open_;
  std::bitset<512> used_;  // by byte * 8 + bit
  bool is_open_ = false;
  bool keep_length_ = false;
  int cursor_ = 0;
};

}  // namespace foundling::recovery
