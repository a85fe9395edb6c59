#include "decoder/analysis/crc_name.h"

#include <algorithm>
#include <optional>
#include <set>
#include <tuple>

#include "decoder/analysis/crc_catalogue.h"

namespace foundling {
namespace {

std::string hex(std::uint32_t value, int width) {
  std::string text;
  for (int shift = (width + 3) / 4 * 4 - 4; shift >= 0; shift -= 4) {
    text += "0123456789ABCDEF"[(value >> shift) & 0xFU];
  }
  return text;
}

bool is_published(int width, const CrcModel& model) {
  const auto rows = published_crcs();
  return std::any_of(rows.begin(), rows.end(), [&](const PublishedCrc& row) {
    return row.width == width && row.polynomial == model.polynomial;
  });
}

struct Match {
  CrcModel model;
  const PublishedCrc* published = nullptr;
  bool with_identifier = false;
};

// Whether a published check, with the identifier's bytes before or after the data, gives the very
// checksums recorded.
bool gives(const ChecksumSamples& samples, const ChecksumPlace& place, const CrcModel& model,
           const PublishedCrc& row, const std::vector<std::uint8_t>& before,
           const std::vector<std::uint8_t>& after) {
  const CrcRegister crc(place.width, row.polynomial, row.reflected);
  std::size_t hits = 0;
  for (const Payload& payload : samples.rows) {
    std::uint32_t value = crc.start(row.initial);
    for (const std::uint8_t byte : before) value = crc.step(value, byte);
    value = feed(crc, value, model, place, payload);
    for (const std::uint8_t byte : after) value = crc.step(value, byte);
    if ((value ^ row.final_xor) == extract(place.span, payload))
      ++hits;
    else if (hits == 0)
      return false;
  }
  return hits * 100 >= samples.rows.size() * 97;
}

std::optional<Match> match(const ChecksumSamples& samples, const ChecksumPlace& place,
                           const CrcModel& model, const PublishedCrc& row, bool with_identifier) {
  if (row.width != place.width || row.polynomial != model.polynomial ||
      row.reflected != model.reflected) {
    return {};
  }
  if (!with_identifier) {
    if (model.trailing != 0 || !gives(samples, place, model, row, {}, {})) return {};
    return Match{model, &row, false};
  }
  for (const bool high_first : {true, false}) {
    const auto bytes = identifier_bytes(samples.id, high_first);
    const bool after = model.trailing == static_cast<int>(bytes.size());
    if (!after && model.trailing != 0) continue;
    if (after ? gives(samples, place, model, row, {}, bytes)
              : gives(samples, place, model, row, bytes, {})) {
      return Match{model, &row, true};
    }
  }
  return {};
}

// The same model with the still bytes before its first moving byte taken in, which only a start
// value can tell from leaving them out. The widest first.
std::vector<CrcModel> starts(const ChecksumSamples& samples, const ChecksumPlace& place,
                             const CrcModel& model) {
  CrcModel wide = model;
  while (wide.from > 0 &&
         (place.owns(wide.from - 1) || !samples.moving[static_cast<std::size_t>(wide.from - 1)])) {
    --wide.from;
  }
  if (place.owns(wide.from)) wide.from = place.last + 1;
  if (wide.from == model.from) return {model};
  return {wide, model};
}

std::optional<Match> published_match(const ChecksumSamples& samples, const ChecksumPlace& place,
                                     const std::vector<CrcModel>& models) {
  for (const bool with_identifier : {false, true}) {
    for (const CrcModel& model : models) {
      for (const CrcModel& wide : starts(samples, place, model)) {
        for (const PublishedCrc& row : published_crcs()) {
          if (const auto found = match(samples, place, wide, row, with_identifier)) return found;
        }
      }
    }
  }
  return {};
}

// A hidden constant after the data, solved for with the start and final value of the first
// published check of that polynomial.
std::string hidden_constant(const ChecksumSamples& samples, const ChecksumPlace& place,
                            const CrcModel& model) {
  if (model.trailing != 1 && (model.trailing != 2 || place.width < 16)) return {};
  const auto rows = published_crcs();
  const auto row = std::find_if(rows.begin(), rows.end(), [&](const PublishedCrc& r) {
    return r.width == place.width && r.polynomial == model.polynomial &&
           r.reflected == model.reflected;
  });
  if (row == rows.end()) return {};
  const CrcRegister crc(place.width, row->polynomial, row->reflected);
  const CrcModel wide = starts(samples, place, model).front();
  const auto& payload = samples.rows.front();
  const auto wanted = static_cast<std::uint32_t>(extract(place.span, payload)) ^ row->final_xor;
  const std::uint32_t fed = feed(crc, crc.start(row->initial), wide, place, payload);
  for (std::uint32_t id = 0; id < (model.trailing == 1 ? 0x100U : 0x10000U); ++id) {
    std::uint32_t value = crc.step(fed, static_cast<std::uint8_t>(id));
    if (model.trailing == 2) value = crc.step(value, static_cast<std::uint8_t>(id >> 8));
    if (value != wanted) continue;
    return "with the start and final value of " + std::string(row->name) +
           " the hidden constant fed after the data is " +
           (model.trailing == 1 ? hex(id, 8) : hex(id & 0xFFU, 8) + " " + hex(id >> 8, 8));
  }
  return {};
}

std::string note_of(const ChecksumSamples& samples, const ChecksumPlace& place,
                    const std::vector<CrcModel>& models, const CrcModel& chosen, bool published) {
  std::vector<std::string> notes;
  std::set<std::string> others;
  for (const CrcModel& model : models) {
    if (model.polynomial != chosen.polynomial || model.reflected != chosen.reflected) {
      others.insert(hex(model.polynomial, place.width) + (model.reflected ? " reflected" : ""));
    }
  }
  if (!others.empty()) {
    std::string text = "the frames vary too little to tell the polynomial; these fit as well:";
    std::size_t listed = 0;
    for (const std::string& other : others) {
      if (++listed > 6) break;
      text += " " + other;
    }
    notes.push_back(text + (listed > 6 ? " and more" : ""));
  }
  if (samples.grouped) {
    notes.push_back(
        "a constant that depends on the counter or page takes part (a list of data IDs)");
  } else if (!published) {
    const std::string hidden = hidden_constant(samples, place, chosen);
    notes.push_back(
        hidden.empty() ? "no published start and final value fit; a hidden constant (a data ID) or "
                         "a start value of its own takes part"
                       : hidden);
  }
  if (chosen.own_as_zero) notes.push_back("the checksum's own bytes are fed as zero");
  std::string text;
  for (const std::string& note : notes) text += (text.empty() ? "" : "; ") + note;
  return text;
}

}  // namespace

ChecksumFinding name_crc(const ChecksumSamples& samples, const ChecksumPlace& place,
                         const std::vector<CrcModel>& models) {
  // Published polynomials first; then as many bytes and as few hidden ones as can be.
  std::vector<CrcModel> ordered = models;
  std::stable_sort(ordered.begin(), ordered.end(), [&](const CrcModel& a, const CrcModel& b) {
    const auto key = [&](const CrcModel& m) {
      return std::tuple(!is_published(place.width, m), m.from, -m.to, m.trailing, m.own_as_zero);
    };
    return key(a) < key(b);
  });
  const auto published = samples.grouped ? std::nullopt : published_match(samples, place, ordered);
  CrcModel chosen = published ? published->model : ordered.front();
  if (!published) chosen = starts(samples, place, chosen).front();

  ChecksumFinding finding;
  finding.span = place.span;
  finding.kind = "crc" + std::to_string(place.width);
  finding.polynomial = hex(chosen.polynomial, place.width);
  finding.reflected = chosen.reflected;
  finding.first_byte = chosen.from;
  finding.last_byte = place.owns(chosen.to) ? place.first - 1 : chosen.to;
  if (published) {
    finding.initial = published->published->initial;
    finding.final_xor = published->published->final_xor;
    finding.includes_identifier = published->with_identifier;
    finding.name = published->published->name;
  }
  finding.note = note_of(samples, place, models, chosen, published.has_value());
  return finding;
}

}  // namespace foundling
