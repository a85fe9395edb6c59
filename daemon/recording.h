// One run of the recorder: from the check of what was asked to the closed capture.
#pragma once

#include "daemon/options.h"
#include "schemas/values/result.h"

namespace foundling {

// Records until SIGTERM, SIGINT or SIGHUP. An error before the first frame leaves nothing written.
Result<void> record(const Options& options);

}  // namespace foundling
