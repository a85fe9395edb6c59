// recovery: how well survey and search recover the truth of random boards.
#include <CLI/CLI.hpp>
#include <atomic>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <mutex>
#include <set>
#include <thread>

#include "decoder/analysis/correlate.h"
#include "decoder/analysis/survey.h"
#include "tests/bench/recovery/baselines.h"
#include "tests/bench/recovery/score.h"
#include "tests/bench/recovery/table.h"
#include "tests/bench/recovery/write_files.h"

namespace foundling::recovery {
namespace {

struct Request {
  std::vector<std::string> families;
  std::vector<std::string> kinds_of_miss;
  int seeds = 20;
  std::uint64_t first_seed = 1;
  unsigned jobs = 2;
  std::string json;
  std::string folder;
  std::string family;
  std::uint64_t seed = 1;
  bool failures = false;
  bool baselines = false;
  bool survey_only = false;
  bool ranks = false;
  bool chances = false;
};

struct Task {
  Family family;
  std::uint64_t seed;
  BoardScore score;
};

void run_task(Task& task, bool survey_only) {
  const RandomBoard board = make_board(task.family, task.seed);
  const auto start = std::chrono::steady_clock::now();
  const Survey found = survey(board.messages);
  const Correlation answer =
      survey_only ? Correlation{} : correlate(board.messages, board.channels, found);
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
  task.score = survey_only ? score_survey(board, found) : score_board(board, found, answer);
  task.score.figures.seconds = taken.count();
}

void run_tasks(std::vector<Task>& tasks, const Request& request) {
  std::atomic<std::size_t> next{0};
  std::vector<std::thread> workers;
  for (unsigned j = 0; j < std::max(request.jobs, 1U); ++j) {
    workers.emplace_back([&] {
      for (std::size_t i = next++; i < tasks.size(); i = next++) {
        run_task(tasks[i], request.survey_only);
      }
    });
  }
  for (std::thread& worker : workers) worker.join();
}

int complain(const std::string& what) {
  std::fprintf(stderr, "recovery: %s\n", what.c_str());
  return 2;
}

std::string known_families() {
  std::string text;
  for (const Family family : all_families()) text += " " + std::string(name_of(family));
  return text;
}

int write_files(const Request& request) {
  const auto family = family_named(request.family);
  if (!family)
    return complain("unknown family '" + request.family + "'; known:" + known_families());
  const auto written = write_board(make_board(*family, request.seed), request.folder);
  return written ? 0 : complain(written.error().message);
}

void print_misses(const std::vector<Task>& tasks) {
  for (const Task& task : tasks) {
    for (const std::string& miss : task.score.misses) {
      std::printf("%s seed %llu: %s\n", std::string(name_of(task.family)).c_str(),
                  static_cast<unsigned long long>(task.seed), miss.c_str());
    }
  }
}

int run_baselines(const std::vector<Family>& families, const Request& request) {
  std::printf(
      "percent of channels  toggle rate      regression on bits\n"
      "family               end     span     message end     span    scale .5%%\n");
  for (const Family family : families) {
    BaselineFigures f;
    for (int s = 0; s < request.seeds; ++s) {
      score_baselines(make_board(family, request.first_seed + static_cast<std::uint64_t>(s)), f);
    }
    std::printf("%-16s%8.1f%8.1f%12.1f%8.1f%8.1f%8.1f\n", std::string(name_of(family)).c_str(),
                f.toggle_end.percent(), f.toggle_span.percent(), f.regression_message.percent(),
                f.regression_end.percent(), f.regression_span.percent(),
                f.regression_scale.percent());
    std::fflush(stdout);
  }
  return 0;
}

int run(const Request& request) {
  if (!request.folder.empty()) return write_files(request);
  std::vector<Family> families;
  for (const std::string& name : request.families) {
    const auto family = family_named(name);
    if (!family) return complain("unknown family '" + name + "'; known:" + known_families());
    families.push_back(*family);
  }
  if (families.empty()) families = all_families();
  std::vector<Task> tasks;
  for (const Family family : families) {
    for (int s = 0; s < request.seeds; ++s) {
      tasks.push_back({family, request.first_seed + static_cast<std::uint64_t>(s), {}});
    }
  }
  if (request.baselines) return run_baselines(families, request);
  run_tasks(tasks, request);
  FamilyFigures figures;
  for (const Family family : families) figures.emplace_back(name_of(family), Figures{});
  for (std::size_t i = 0; i < tasks.size(); ++i) {
    figures[i / static_cast<std::size_t>(request.seeds)].second += tasks[i].score.figures;
  }
  if (request.failures) print_misses(tasks);
  const Part part = request.survey_only ? Part::survey : Part::all;
  std::printf("%s", figures_table(figures, part).c_str());
  if (request.ranks) std::printf("%s", ranks_table(figures).c_str());
  if (request.chances) {
    std::vector<std::pair<std::string, StatedChances>> chances;
    for (const auto& [name, f] : figures) chances.emplace_back(name, f.chances);
    std::printf("%s", chances_table(chances).c_str());
  }
  if (request.json.empty()) return 0;
  std::ofstream out(request.json);
  out << figures_json(figures, part);
  out.flush();
  return out ? 0 : complain(request.json + ": cannot be written");
}

}  // namespace
}  // namespace foundling::recovery

int main(int argc, char** argv) {
  foundling::recovery::Request request;
  CLI::App app{"Holds the analyser against random boards whose truth is known."};
  app.add_option("--families", request.families, "families, with commas; default all")
      ->delimiter(',');
  app.add_option("--seeds", request.seeds, "boards a family")->check(CLI::PositiveNumber);
  app.add_option("--first-seed", request.first_seed, "seed of the first board");
  app.add_option("--jobs", request.jobs, "boards at a time");
  app.add_option("--json", request.json, "write the figures to this file");
  app.add_flag("--baselines", request.baselines, "the published methods' figures instead");
  app.add_flag("--survey-only", request.survey_only, "counters, checksums and selectors alone");
  app.add_flag("--ranks", request.ranks, "where the truth falls in the intervals, as histograms");
  app.add_flag("--chances", request.chances, "chances stated for absent channels, by kind");
  app.add_flag("--failures", request.failures, "one line for each miss");
  auto* folder =
      app.add_option("--write", request.folder, "write one board's files to this folder");
  app.add_option("--family", request.family, "the family of the board to write")->needs(folder);
  app.add_option("--seed", request.seed, "the seed of the board to write")->needs(folder);
  app.footer("Example: recovery --families plain-big,paged --seeds 20 --failures");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? 0 : 2;
  }
  return foundling::recovery::run(request);
}
