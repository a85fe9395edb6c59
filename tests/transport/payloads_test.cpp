#include "decoder/transport/payloads.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "tests/transport/segment_writer.h"

namespace foundling::test {
namespace {

struct Sender {
  MessageSeries series;

  Sender(std::uint32_t id, std::uint8_t length) {
    series.id = CanId::standard(id);
    series.length = length;
  }
  void send(std::int64_t t_ms, const std::vector<Bytes>& frames) {
    std::int64_t t_ns = t_ms * 1'000'000;
    for (const Bytes& frame : frames) {
      series.t_ns.push_back(t_ns += 1'000'000);
      series.bytes.insert(series.bytes.end(), frame.begin(), frame.end());
    }
  }
};

}  // namespace

TEST_CASE("a block sent unasked in segments becomes a message of its own") {
  Sender board(0x3A0, 8);
  Bytes block(200);
  for (int i = 0; i < 30; ++i) {
    block[17] = static_cast<std::uint8_t>(i);
    board.send(i * 2000, segments_of(block));
  }
  const auto found = carried_payloads({&board.series, 1});
  REQUIRE(found.size() == 1);
  CHECK(transport_of(found[0].series.id) == Transport{Transport::Kind::segments, 0});
  CHECK(frames_of(found[0].series.id) == board.series.id);
  CHECK(found[0].series.length == 200);
  REQUIRE(found[0].series.size() == 30);
  CHECK(found[0].series.row(29)[17] == 29);
  const auto all = with_payloads({board.series});
  REQUIRE(all.size() == 2);
  CHECK_FALSE(is_payload(all[0].id));
}

TEST_CASE("addresses of one identifier are messages of their own") {
  Sender board(0x3A0, 8);
  for (int i = 0; i < 10; ++i) {
    for (const std::uint8_t address : {std::uint8_t{0xF1}, std::uint8_t{0xF4}}) {
      SegmentForm form;
      form.address = address;
      board.send(i * 500 + address, segments_of(Bytes(30, address), form));
    }
  }
  const auto found = carried_payloads({&board.series, 1});
  REQUIRE(found.size() == 2);
  CHECK(transport_of(found[0].series.id).address == 0xF1);
  CHECK(found[1].series.row(3)[29] == 0xF4);
}

TEST_CASE("single frames are payloads where they answer each other") {
  Sender asks(0x7E4, 8);
  Sender replies(0x7EC, 8);
  for (std::int64_t i = 0; i < 12; ++i) {
    asks.send(i * 100, segments_of(Bytes{0x22, 0x01, 0x05}));
    replies.send(i * 100 + 5, segments_of(Bytes{0x62, 0x01, 0x05, static_cast<std::uint8_t>(i)}));
  }
  const std::vector<MessageSeries> both{asks.series, replies.series};
  CHECK(carried_payloads(both).size() == 2);
  CHECK(carried_payloads({both.data(), 1}).empty());
}

TEST_CASE("messages that count in their first byte, or carry noise, are not taken for segments") {
  std::mt19937 random(7);
  Sender counts(0x100, 8);
  Sender pages(0x101, 8);
  Sender noise(0x102, 8);
  Sender small(0x103, 8);
  for (std::int64_t i = 0; i < 3000; ++i) {
    Bytes frame(8);
    for (auto& byte : frame) byte = static_cast<std::uint8_t>(random());
    noise.send(i * 10, {frame});
    frame[0] = static_cast<std::uint8_t>(i);
    counts.send(i * 10, {frame});
    frame[0] = static_cast<std::uint8_t>(0x10 + i % 0x20);
    pages.send(i * 10, {frame});
    frame[0] = static_cast<std::uint8_t>(1 + i % 7);
    small.send(i * 10, {frame});
  }
  CHECK(carried_payloads(std::vector{counts.series, pages.series, noise.series, small.series})
            .empty());
}

}  // namespace foundling::test
