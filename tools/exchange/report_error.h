// How a command of this folder tells a failure: one message on stderr, exit status 2.
#pragma once

#include <string_view>

#include "schemas/values/result.h"

namespace foundling {

int report_error(std::string_view command, const Error& error);

}  // namespace foundling
