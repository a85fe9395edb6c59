// The configuration's [[instrument]] tables; README.md of the daemon has an example. For sources
// only, as it brings the TOML library along.
#pragma once

#include <toml++/toml.h>

#include <functional>
#include <string>
#include <vector>

#include "daemon/instruments/instrument_settings.h"

namespace foundling {

// Reports a fault at its place in the file.
using ConfigFault = std::function<void(const toml::source_region&, const std::string&)>;

// All of them; the faulty ones are reported and left out.
std::vector<InstrumentSettings> read_instruments(const toml::node& node, const ConfigFault& fault);

}  // namespace foundling
