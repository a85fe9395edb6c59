// Holds a capture against what was sent: every stored frame is one that was sent, unchanged, once,
// in order; what is missing agrees with the rule; the file is whole. Prints the account.
//   ledger_check CAPTURE SEED SENT RULE [fd] [bus=N]
// RULE  exact     all of them, no gap
//       all       all of them, whatever gaps there are
//       counted   stored + lost of the gaps = sent, and none missing outside a gap
//       prefix    the first so many, none missing before the last one stored
//   overrun   whatever is missing before the last one stored lies under a gap
// CAPTURE may be several files, with colons between them, in the order in which they were recorded.
// All sessions of the capture count, one after the other: a recorder that had to open its file anew
// began a further one. bus=N: only frames and gaps of this bus.
#include <cinttypes>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "tests/system/numbered_frame.h"
#include "tests/system/whole_file.h"

namespace {

using foundling::Frame;

struct Ledger {
  std::uint64_t stored = 0;
  std::uint64_t missing_between = 0;  // numbers skipped before the last stored one
  std::uint64_t uncovered = 0;        // skips with no gap over their time
  std::uint64_t lost = 0;             // as the gaps say
  std::size_t gaps = 0;
  double first_s = 0, last_s = 0;
  std::string fault;  // the first frame that is not as sent
};

bool covered(const std::vector<foundling::Gap>& gaps, std::int64_t from_ns, std::int64_t to_ns) {
  for (const foundling::Gap& gap : gaps) {
    if (gap.from_ns <= to_ns && gap.to_ns >= from_ns) return true;
  }
  return false;
}

bool same(const Frame& a, const Frame& b) {
  return a.id == b.id && a.flags == b.flags && a.length == b.length && a.payload == b.payload;
}

struct Wanted {
  std::uint64_t seed = 0;
  bool fd = false;
  int bus = -1;  // all

  [[nodiscard]] bool is_of(std::uint8_t number) const { return bus < 0 || bus == number; }
};

void take_stock(foundling::CaptureReader& capture, std::int64_t session, const Wanted& wanted,
                const std::vector<foundling::Gap>& gaps, std::uint32_t& expected, Ledger& ledger) {
  std::int64_t last_ns = 0;
  const auto visited = capture.for_each_frame(
      session, foundling::time_from_start, foundling::time_to_end, [&](const Frame& frame) {
        if (!wanted.is_of(frame.bus)) return true;
        const std::uint32_t number = foundling::guest::number_of(frame);
        if (number < expected ||
            !same(frame, foundling::guest::numbered_frame(wanted.seed, number, wanted.fd)) ||
            frame.t_ns < last_ns) {
          ledger.fault = "frame " + std::to_string(ledger.stored) + ", number " +
                         std::to_string(number) + ", expected " + std::to_string(expected);
          return false;
        }
        if (number > expected && !covered(gaps, last_ns, frame.t_ns)) ++ledger.uncovered;
        ledger.missing_between += number - expected;
        expected = number + 1;
        last_ns = frame.t_ns;
        if (ledger.stored == 0) ledger.first_s = static_cast<double>(frame.t_ns) * 1e-9;
        ledger.last_s = static_cast<double>(frame.t_ns) * 1e-9;
        ++ledger.stored;
        return true;
      });
  if (!visited) ledger.fault = visited.error().message;
  for (const foundling::Gap& gap : gaps) ledger.lost += gap.frames_lost;
  ledger.gaps += gaps.size();
}

bool holds(const Ledger& ledger, std::string_view rule, std::uint64_t sent) {
  if (rule == "exact") return ledger.stored == sent && ledger.gaps == 0;
  if (rule == "counted") {
    return ledger.stored + ledger.lost == sent && ledger.uncovered == 0;
  }
  if (rule == "all") return ledger.stored == sent;
  if (rule == "prefix") {
    return ledger.missing_between == 0 && ledger.stored > 0 && ledger.stored <= sent;
  }
  if (rule == "overrun") return ledger.uncovered == 0 && ledger.stored <= sent;
  return false;
}

void print(const foundling::Gap& gap) {
  std::printf("gap from %.3f s to %.3f s, lost %" PRIu64 ": %s\n",
              static_cast<double>(gap.from_ns) * 1e-9, static_cast<double>(gap.to_ns) * 1e-9,
              gap.frames_lost, gap.why.c_str());
}

void print(const foundling::ClockMark& mark) {
  if (mark.step_ns == 0) return;
  std::printf("at %.3f s the wall clock was set by %.0f s\n", static_cast<double>(mark.t_ns) * 1e-9,
              static_cast<double>(mark.step_ns) * 1e-9);
}

// Adds a session to the ledger, and prints its gaps and clock steps. False: it cannot be read.
bool add_session(foundling::CaptureReader& capture, std::int64_t session, const Wanted& wanted,
                 std::uint32_t& expected, Ledger& ledger) {
  const auto all = capture.gaps(session);
  const auto marks = capture.clock_marks(session);
  if (!all || !marks) {
    std::printf("%s\n", (!all ? all.error() : marks.error()).message.c_str());
    return false;
  }
  std::vector<foundling::Gap> gaps;
  for (const foundling::Gap& gap : *all) {
    if (!wanted.is_of(gap.bus)) continue;
    gaps.push_back(gap);
    if (gaps.size() <= 20) print(gap);
  }
  for (const foundling::ClockMark& mark : *marks) print(mark);
  take_stock(capture, session, wanted, gaps, expected, ledger);
  return true;
}

// How many sessions it has; nothing: it cannot be read.
std::optional<std::size_t> add_file(const std::string& name, const Wanted& wanted,
                                    std::uint32_t& expected, Ledger& ledger) {
  auto capture = foundling::CaptureReader::open(name);
  if (!capture) return std::printf("%s\n", capture.error().message.c_str()), std::nullopt;
  const auto sessions = capture->sessions();
  if (!sessions || sessions->empty()) return std::puts("no session"), std::nullopt;
  for (const foundling::SessionRow& session : *sessions) {
    if (!add_session(*capture, session.id, wanted, expected, ledger)) return std::nullopt;
  }
  return sessions->size();
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 5) {
    std::fputs("ledger_check CAPTURE SEED SENT RULE [fd] [bus=N]\n", stderr);
    return 2;
  }
  Wanted wanted;
  wanted.seed = std::strtoull(argv[2], nullptr, 10);
  for (int i = 5; i < argc; ++i) {
    const std::string_view word = argv[i];
    if (word == "fd") wanted.fd = true;
    if (word.substr(0, 4) == "bus=") wanted.bus = std::atoi(argv[i] + 4);
  }
  Ledger ledger;
  std::uint32_t expected = 0;
  std::size_t sessions = 0;
  bool whole = true;
  std::istringstream names(argv[1]);
  for (std::string name; std::getline(names, name, ':');) {
    const auto added = add_file(name, wanted, expected, ledger);
    if (!added) return 1;
    sessions += *added;
    whole = foundling::guest::is_whole(name.c_str()) && whole;
  }
  const std::uint64_t sent = std::strtoull(argv[3], nullptr, 10);
  std::printf("%zu sessions; sent %" PRIu64 ", stored %" PRIu64 ", lost by %zu gaps %" PRIu64
              ", missing in between %" PRIu64 "\n",
              sessions, sent, ledger.stored, ledger.gaps, ledger.lost, ledger.missing_between);
  std::printf("first frame at %.3f s, last at %.3f s\n", ledger.first_s, ledger.last_s);
  if (!ledger.fault.empty()) std::printf("not as sent: %s\n", ledger.fault.c_str());
  const bool good = ledger.fault.empty() && holds(ledger, argv[4], sent) && whole;
  std::puts(good ? "as it should be" : "NOT as it should be");
  return good ? 0 : 1;
}
