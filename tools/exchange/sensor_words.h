// A sensor as typed: the text of schemas/values/sensor.h, where a thermistor's table may be a file,
// `thermistor table FILE.csv`, with the header celsius,ohm.
#pragma once

#include <string>

#include "schemas/values/result.h"
#include "schemas/values/sensor.h"

namespace foundling {

Result<Sensor> sensor_of_words(const std::string& words);

}  // namespace foundling
