#include <algorithm>
#include <charconv>
#include <set>
#include <utility>

#include "decoder/bench/check_plan.h"
#include "decoder/bench/plan_facts.h"
#include "decoder/bench/plan_text.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/utf8.h"

namespace foundling::bench {
namespace {

constexpr std::size_t longest_line = 4096;        // bytes
constexpr std::size_t most_diagnostics = 10'000;  // a hostile text costs bounded memory

bool is_one_of(std::span<const std::string> words, std::string_view word) {
  return std::ranges::find(words, word) != words.end();
}

class Reader {
 public:
  PlanText run(std::string_view text);

 private:
  enum class Inside : std::uint8_t { file, channel, step, lost };

  void read_header(std::string_view line);
  void read_line(std::string_view line);
  void read_fact(std::string_view line, bool indented);
  void read_channel_line(LineReader& reader, const std::string& keyword);
  void read_step_line(LineReader& reader, const std::string& keyword);
  void open(LineReader& reader, const Token& word);
  void read_note(LineReader& reader, std::vector<std::string>& notes, Remarks& remarks);
  void keep(LineReader& reader, Remark& remark);
  bool once(LineReader& reader, const Token& word, Remarks& remarks);
  void unknown(LineReader& reader, const Token& word, bool indented);
  void settle_words();
  void fail(TextPlace place, std::string message, std::string suggestion = {}) {
    out_.diagnostics.push_back({Severity::error, place, std::move(message), std::move(suggestion)});
  }

  PlanText out_;
  int number_ = 0;
  Inside inside_ = Inside::file;
  std::set<std::string, std::less<>> seen_;  // facts of what is open
  std::set<std::string, std::less<>> seen_in_file_;
  std::vector<std::string> above_;  // comments and blank lines that wait for the line below
};

// What waits above a line, and the comment behind it, belong to the line.
void Reader::keep(LineReader& reader, Remark& remark) {
  remark.above = std::exchange(above_, {});
  remark.behind = one_line(reader.comment());
}

bool Reader::once(LineReader& reader, const Token& word, Remarks& remarks) {
  auto& seen = &remarks == &out_.plan.remarks ? seen_in_file_ : seen_;
  if (seen.insert(std::string(word.source)).second) return true;
  std::string expected = "another line; '";
  expected.append(word.source).append("' stands here already");
  reader.fail(word, expected);
  return false;
}

void Reader::read_note(LineReader& reader, std::vector<std::string>& notes, Remarks& remarks) {
  const std::string key = "note " + std::to_string(notes.size());
  notes.push_back(one_line(reader.rest()));
  remarks[key].above = std::exchange(above_, {});
}

void Reader::open(LineReader& reader, const Token& word) {
  Plan& plan = out_.plan;
  inside_ = Inside::lost;
  seen_.clear();
  if (word.source == "step") {
    Step step;
    step.place = reader.place_of(reader.peek().source);
    const auto number = reader.integer("the step's number", 1, most_steps);
    if (!number || !reader.finish()) return;
    step.number = static_cast<int>(*number);
    keep(reader, step.remarks[""]);
    plan.steps.push_back(std::move(step));
    inside_ = Inside::step;
    return;
  }
  PlanChannel channel;
  channel.place = reader.place_of(reader.peek().source);
  if (!read_channel_head(reader, word.source == "series", channel) || !reader.finish()) return;
  keep(reader, channel.remarks[""]);
  plan.channels.push_back(std::move(channel));
  inside_ = Inside::channel;
}

void Reader::read_channel_line(LineReader& reader, const std::string& keyword) {
  PlanChannel& channel = out_.plan.channels.back();
  if (keyword == "note") return read_note(reader, channel.notes, channel.remarks);
  if (read_channel_fact(reader, keyword, channel) && reader.finish()) {
    keep(reader, channel.remarks[keyword]);
  }
}

void Reader::read_step_line(LineReader& reader, const std::string& keyword) {
  Step& step = out_.plan.steps.back();
  if (keyword == "note") return read_note(reader, step.notes, step.remarks);
  if (keyword == "hold") {
    if (read_duration(reader, step.hold_s) && reader.finish()) keep(reader, step.remarks["hold"]);
    return;
  }
  Setting setting;
  setting.place = reader.place_of(reader.peek().source);
  if (!read_setting(reader, setting) || !reader.finish()) return;
  keep(reader, setting.remark);
  step.settings.push_back(std::move(setting));
}

void Reader::unknown(LineReader& reader, const Token& word, bool indented) {
  std::vector<std::string> known;
  const auto add = [&](std::span<const std::string> words) {
    known.insert(known.end(), words.begin(), words.end());
  };
  if (inside_ != Inside::step) add(channel_keywords());
  if (inside_ != Inside::channel) add(step_keywords());
  add(plan_keywords());
  const auto near = nearest_word(word.source, known);
  reader.fail(word, "a keyword", near ? "did you mean '" + *near + "'?" : "");
  if (!indented) inside_ = Inside::lost;
}

void Reader::read_fact(std::string_view line, bool indented) {
  LineReader reader(line, number_, out_.diagnostics);
  const Token word = reader.peek();
  if (word.kind != Token::Kind::word) return reader.fail(word, "a keyword");
  reader.take();
  const std::string keyword(word.source);
  Plan& plan = out_.plan;
  if (keyword == "channel" || keyword == "series" || keyword == "step") return open(reader, word);
  // `hold` and `note` are of the file where they stand at its margin.
  const bool shared = keyword == "hold" || keyword == "note";
  const bool of_file = is_one_of(plan_keywords(), keyword) && !(shared && indented);
  if (of_file) {
    if (keyword == "note") return read_note(reader, plan.notes, plan.remarks);
    if (once(reader, word, plan.remarks) && read_plan_fact(reader, keyword, plan) &&
        reader.finish()) {
      keep(reader, plan.remarks[keyword]);
    }
    return;
  }
  const bool of_channel = is_one_of(channel_keywords(), keyword);
  const bool of_step = is_one_of(step_keywords(), keyword);
  if (!of_channel && !of_step) return unknown(reader, word, indented);
  if (inside_ == Inside::lost) return;  // below a faulty line: said once
  if (inside_ == Inside::channel && of_channel) {
    Remarks& remarks = plan.channels.back().remarks;
    if (keyword == "note" || once(reader, word, remarks)) read_channel_line(reader, keyword);
  } else if (inside_ == Inside::step && of_step) {
    Remarks& remarks = plan.steps.back().remarks;
    if (keyword != "hold" || once(reader, word, remarks)) read_step_line(reader, keyword);
  } else {
    reader.fail(word, of_channel && of_step ? "a channel or a step before this line"
                      : of_channel          ? "a channel before this line"
                                            : "a step before this line");
  }
}

void Reader::read_line(std::string_view line) {
  if (line.size() > longest_line) {
    return fail({number_, 1, 1}, "expected a line of at most 4096 bytes, found one of " +
                                     std::to_string(line.size()));
  }
  const std::size_t good = well_formed_bytes(line);
  if (good < line.size()) {
    const auto column = static_cast<int>(characters(line.substr(0, good))) + 1;
    return fail({number_, column, 1}, "expected UTF-8 text, found a byte that cannot stand here",
                "save the file as UTF-8");
  }
  const auto start = line.find_first_not_of(" \t");
  if (start == std::string_view::npos) {
    if (above_.empty() || !above_.back().empty()) above_.emplace_back();
    return;
  }
  if (line[start] == '#') {
    above_.push_back(one_line(line));
    return;
  }
  read_fact(line, start > 0);
}

void Reader::read_header(std::string_view line) {
  LineReader reader(line, 1, out_.diagnostics);
  if (!reader.accept("foundling") || !reader.accept("plan")) {
    return reader.fail(reader.peek(), "'foundling plan 1'",
                       "the first line of a bench plan is: foundling plan 1");
  }
  if (!reader.accept("1")) {
    return reader.fail(reader.peek(), "version 1 of the format",
                       "this file may need a newer version of the program");
  }
  if (reader.finish()) keep(reader, out_.plan.remarks[""]);
}

// Figures may be words of a state channel; only with all channels read is it known which.
void Reader::settle_words() {
  for (Step& step : out_.plan.steps) {
    for (Setting& setting : step.settings) {
      const PlanChannel* channel = find_channel(out_.plan, setting.channels.front());
      if (channel != nullptr && channel->is_state()) continue;
      double value = 0;
      const char* end = setting.word.data() + setting.word.size();
      const auto [stop, failure] = std::from_chars(setting.word.data(), end, value);
      if (failure == std::errc{} && stop == end) setting.word.clear();
    }
  }
}

PlanText Reader::run(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // a byte order mark
  while (number_ == 0 || !text.empty()) {
    const auto end = text.find('\n');
    std::string_view line = text.substr(0, end);
    if (line.ends_with('\r')) line.remove_suffix(1);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    ++number_;
    if (number_ == 1) {
      read_header(line);
      if (!out_.diagnostics.empty()) return std::move(out_);  // of something else: say it once
    } else {
      read_line(line);
    }
    if (out_.diagnostics.size() > most_diagnostics) break;
  }
  while (!above_.empty() && above_.back().empty()) above_.pop_back();
  if (!above_.empty()) out_.plan.remarks["end"].above = std::exchange(above_, {});
  settle_words();
  if (out_.ok()) {
    auto found = check_plan(out_.plan);
    std::ranges::move(found, std::back_inserter(out_.diagnostics));
  }
  return std::move(out_);
}

}  // namespace

PlanText read_plan(std::string_view text) { return Reader().run(text); }

}  // namespace foundling::bench
