// An instrument that the recorder asks while it records, as the configuration names it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "schemas/values/meter_specification.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"
#include "schemas/values/sensor.h"

namespace foundling {

// One query, asked again and again, into one channel of kind sample.
struct InstrumentQuery {
  std::string ask;   // checked: fault_of_query() found nothing
  int number = 1;    // which number of the answer
  Channel channel;   // kind sample
  std::string unit;  // of the answer
  double every_s = 1;
  std::optional<double> uncertainty;  // standard, in the answer's unit
  std::optional<MeterSpecification> meter;
  MeterSetting setting;  // of the meter; its unit is the answer's
  std::optional<Sensor> sensor;

  // What an answer means. An error where it cannot be (a resistance beyond the sensor's curve).
  [[nodiscard]] Result<Measured> measured(double answer) const;
};

enum class LineKind : std::uint8_t { tcp, serial, usbtmc };

struct InstrumentSettings {
  std::string name;
  LineKind line = LineKind::tcp;
  std::string address;          // host:port, or a device's path
  int baud = 9600;              // of a serial line; 8 data bits, no parity, 1 stop bit
  std::string line_end = "\n";  // behind what is sent
  double timeout_s = 2;         // for one answer
  std::vector<InstrumentQuery> queries;
};

}  // namespace foundling
