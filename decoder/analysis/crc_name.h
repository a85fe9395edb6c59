// Puts the models that fit into words: the published check they belong to, its start and final
// value where they can be told, and whether the identifier or a hidden constant takes part.
#pragma once

#include <vector>

#include "decoder/analysis/crc_fit.h"
#include "decoder/analysis/survey.h"

namespace foundling {

// Requires at least one model.
[[nodiscard]] ChecksumFinding name_crc(const ChecksumSamples& samples, const ChecksumPlace& place,
                                       const std::vector<CrcModel>& models);

}  // namespace foundling
