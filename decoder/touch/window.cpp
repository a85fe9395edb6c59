#include "decoder/touch/window.h"

namespace foundling::touch {

Mask::Mask(const std::array<bool, window_bins>& seen) : seen_(seen) {
  for (int bin = 0; bin < window_bins; ++bin) {
    if (!this->seen(bin)) continue;
    ++count_;
    mean_bin_ += bin;
  }
  if (count_ > 0) mean_bin_ /= count_;
  for (int bin = 0; bin < window_bins; ++bin) {
    if (this->seen(bin)) spread_ += (bin - mean_bin_) * (bin - mean_bin_);
  }
}

void Mask::level(Bins& values) const {
  double sum = 0, slope = 0;
  for (std::size_t bin = 0; bin < values.size(); ++bin) {
    if (!seen_[bin]) continue;
    sum += values[bin];
    slope += values[bin] * (static_cast<double>(bin) - mean_bin_);
  }
  const double mean = count_ > 0 ? sum / count_ : 0;
  if (spread_ > 0) slope /= spread_;
  for (std::size_t bin = 0; bin < values.size(); ++bin) {
    values[bin] =
        seen_[bin] ? values[bin] - mean - slope * (static_cast<double>(bin) - mean_bin_) : 0;
  }
}

double Mask::left_of(const Bins& shape) const {
  double sum = 0, squares = 0, along = 0;
  for (std::size_t bin = 0; bin < shape.size(); ++bin) {
    if (!seen_[bin]) continue;
    sum += shape[bin];
    squares += shape[bin] * shape[bin];
    along += shape[bin] * (static_cast<double>(bin) - mean_bin_);
  }
  if (count_ == 0) return 0;
  return squares - sum * sum / count_ - (spread_ > 0 ? along * along / spread_ : 0);
}

}  // namespace foundling::touch
