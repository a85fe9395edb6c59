#include <array>

#include "tools/bench.h"
#include "tools/bus.h"
#include "tools/check.h"
#include "tools/command.h"
#include "tools/completion.h"
#include "tools/correlate.h"
#include "tools/decode.h"
#include "tools/demo.h"
#include "tools/export.h"
#include "tools/import.h"
#include "tools/live.h"
#include "tools/relate.h"
#include "tools/report.h"
#include "tools/signals.h"
#include "tools/status.h"
#include "tools/stimulus.h"
#include "tools/survey.h"

namespace foundling {

std::span<const Command> commands() {
  static const std::array all{
      bus_command(),       status_command(),  import_command(), export_command(),
      stimulus_command(),  bench_command(),   survey_command(), relate_command(),
      correlate_command(), signals_command(), check_command(),  decode_command(),
      live_command(),      report_command(),  demo_command(),   completion_command(),
      manual_command(),
  };
  return all;
}

}  // namespace foundling
