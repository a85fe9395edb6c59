// Whether a map is known to have been made from a session.
#include "decoder/decode/own_session.h"

#include <doctest/doctest.h>

using namespace foundling;

namespace {

MessageSeries message(std::uint32_t id) {
  MessageSeries series;
  series.id = CanId::standard(id);
  series.length = 2;
  series.t_ns = {0, 10, 20};
  series.bytes = {1, 2, 3, 4, 5, 6};
  return series;
}

SignalMap map_with(const std::string& capture, const std::string& evidence) {
  SignalMap map;
  MessageEntry& entry = map.messages.emplace_back();
  entry.signals.emplace_back();
  entry.signals.back().seen = {{"other.capture", 3, "strong"}, {capture, 1, evidence}};
  return map;
}

}  // namespace

TEST_CASE("a session is the same under another name, at other times and in another order") {
  std::vector<MessageSeries> one{message(0x100), message(0x200)};
  std::vector<MessageSeries> two{message(0x200), message(0x100)};
  for (auto& series : two) {
    for (auto& t : series.t_ns) t += 12345;
  }
  const std::string digest = session_digest(one);
  CHECK(digest.size() == 16);
  CHECK(session_digest(two) == digest);
  const SignalMap map = map_with("a.capture", "strong, " + digest_words(digest));
  CHECK(made_from(map, {"renamed.capture", 7, digest}));
}

TEST_CASE("a session with another frame is another, under the same name too") {
  const std::vector<MessageSeries> one{message(0x100)};
  const std::string digest = session_digest(one);
  const SignalMap map = map_with("a.capture", digest_words(digest));
  const auto other = [&](const auto& change) {
    std::vector<MessageSeries> changed = one;
    change(changed[0]);
    const std::string its = session_digest(changed);
    CHECK(its != digest);
    CHECK_FALSE(made_from(map, {"a.capture", 1, its}));
  };
  other([](MessageSeries& m) { m.bytes[0] = 9; });
  other([](MessageSeries& m) { m.bytes[5] = 9; });
  other([](MessageSeries& m) { m.bus = 1; });
  other([](MessageSeries& m) { m.id = CanId::extended(0x100); });
  other([](MessageSeries& m) {
    m.t_ns = {0, 10, 15, 20};
    m.bytes = {1, 2, 3, 4, 3, 4, 5, 6};
  });
}

TEST_CASE("where a map does not say of what content it is, name and session decide") {
  for (const char* evidence : {"strong", "by digest of mine", "digest 12"}) {
    const SignalMap map = map_with("a.capture", evidence);
    CHECK(made_from(map, {"a.capture", 1, "0123456789abcdef"}));
    CHECK_FALSE(made_from(map, {"a.capture", 2, "0123456789abcdef"}));
    CHECK_FALSE(made_from(map, {"b.capture", 1, "0123456789abcdef"}));
  }
}
