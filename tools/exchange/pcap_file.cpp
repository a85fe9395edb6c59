#include "tools/exchange/pcap_file.h"

#include <pcap/pcap.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <optional>
#include <set>

#include "tools/exchange/can_record.h"
#include "tools/exchange/pcapng_interfaces.h"

namespace foundling {
namespace {

struct Close {
  void operator()(pcap_t* handle) const { pcap_close(handle); }
};
using Handle = std::unique_ptr<pcap_t, Close>;

class PcapFile : public FrameFile {
 public:
  PcapFile(Handle handle, std::string name, std::optional<PcapngInterfaces> interfaces)
      : handle_(std::move(handle)), name_(std::move(name)), interfaces_(std::move(interfaces)) {}

  Result<std::vector<Frame>> next_batch() override {
    std::vector<Frame> batch;
    batch.reserve(frames_a_batch);
    while (batch.size() < frames_a_batch) {
      pcap_pkthdr* header = nullptr;
      const unsigned char* bytes = nullptr;
      const long at = std::ftell(pcap_file(handle_.get()));
      const int outcome = pcap_next_ex(handle_.get(), &header, &bytes);
      if (outcome == PCAP_ERROR_BREAK) break;  // the end of the file
      ++number_;
      if (outcome != 1) return error_at(at, pcap_geterr(handle_.get()));
      auto frame = frame_of(*header, bytes, at);
      if (!frame) return frame.error();
      batch.push_back(*frame);
    }
    return batch;
  }

 private:
  [[nodiscard]] Error error_at(long byte, const std::string& problem) const {
    return {ErrorCode::format, name_ + ": packet " + std::to_string(number_) + ", byte " +
                                   std::to_string(byte) + ": error: " + problem};
  }

  Result<Frame> frame_of(const pcap_pkthdr& header, const unsigned char* bytes, long at) {
    if (header.caplen < header.len && header.caplen < 16) {
      return error_at(at, "packet cut off while it was captured: " + std::to_string(header.caplen) +
                              " of " + std::to_string(header.len) + " bytes");
    }
    auto read = frame_of_record({bytes, header.caplen});
    if (const auto* problem = std::get_if<std::string>(&read)) return error_at(at, *problem);
    Frame frame = std::get<Frame>(read);
    // In nanosecond mode libpcap puts nanoseconds into the field named for microseconds.
    const std::int64_t fraction = header.ts.tv_usec;
    if (fraction < 0 || fraction > 999'999'999) {
      return error_at(at, "time stamp with a fraction of more than a second");
    }
    // The seconds of a pcap file are unsigned (IETF draft-ietf-opsawg-pcap); libpcap takes them for
    // signed.
    std::int64_t seconds = header.ts.tv_sec;
    constexpr std::int64_t wrap = std::int64_t{1} << 32U;
    if (!interfaces_ && seconds < 0 && seconds >= -wrap / 2) seconds += wrap;
    constexpr std::int64_t most = 9'223'372'035;
    if (seconds > most || seconds < -most) return error_at(at, "time stamp out of range");
    frame.t_ns = seconds * 1'000'000'000 + fraction;
    if (interfaces_) {
      const auto interface = interfaces_->next();
      if (!interface) return error_at(at, "its interface cannot be read");
      if (*interface > 255) return error_at(at, "expected an interface up to number 255");
      frame.bus = static_cast<std::uint8_t>(*interface);
    }
    return frame;
  }

  Handle handle_;
  std::string name_;
  std::optional<PcapngInterfaces> interfaces_;
  std::uint64_t number_ = 0;
};

}  // namespace

Result<std::unique_ptr<FrameFile>> open_pcap_file(const std::filesystem::path& path) {
  const std::string name = path.string();
  std::array<char, PCAP_ERRBUF_SIZE> problem{};
  Handle handle(pcap_open_offline_with_tstamp_precision(path.c_str(), PCAP_TSTAMP_PRECISION_NANO,
                                                        problem.data()));
  if (!handle) {
    return Error{ErrorCode::format, name + ": byte 0: error: " + std::string(problem.data())};
  }
  const int type = pcap_datalink(handle.get());
  if (type != can_link_type) {
    const char* const known = pcap_datalink_val_to_name(type);
    return Error{ErrorCode::format, name + ": link type " + std::to_string(type) +
                                        (known != nullptr ? " (" + std::string(known) + ")" : "") +
                                        ", expected 227 (CAN_SOCKETCAN)"};
  }
  return std::unique_ptr<FrameFile>(
      std::make_unique<PcapFile>(std::move(handle), name, PcapngInterfaces::open(path)));
}

}  // namespace foundling
