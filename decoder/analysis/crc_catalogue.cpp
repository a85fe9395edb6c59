#include "decoder/analysis/crc_catalogue.h"

namespace foundling {
namespace {

constexpr PublishedCrc catalogue[] = {
    {8, 0x1D, 0xFF, false, 0xFF, "CRC-8/SAE-J1850"},
    {8, 0x2F, 0xFF, false, 0xFF, "CRC-8/AUTOSAR"},
    {8, 0x1D, 0x00, false, 0x00, "CRC-8/GSM-A"},
    {8, 0x1D, 0xFF, false, 0x00, "CRC-8/HITAG"},
    {8, 0x2F, 0x00, false, 0x00, "CRC-8/OPENSAFETY"},
    {8, 0x07, 0x00, false, 0x00, "CRC-8/SMBUS"},
    {8, 0x07, 0x00, false, 0x55, "CRC-8/I-432-1"},
    {8, 0x07, 0xFF, true, 0x00, "CRC-8/ROHC"},
    {8, 0x31, 0x00, true, 0x00, "CRC-8/MAXIM-DOW"},
    {8, 0x31, 0xFF, false, 0x00, "CRC-8/NRSC-5"},
    // From memory: the other eight-bit rows of the catalogue.
    {8, 0x9B, 0xFF, false, 0x00, "CRC-8/CDMA2000"},
    {8, 0x9B, 0x00, true, 0x00, "CRC-8/WCDMA"},
    {8, 0x9B, 0x00, false, 0x00, "CRC-8/LTE"},
    {8, 0x39, 0x00, true, 0x00, "CRC-8/DARC"},
    {8, 0x49, 0x00, false, 0xFF, "CRC-8/GSM-B"},
    {8, 0xA7, 0x00, true, 0x00, "CRC-8/BLUETOOTH"},
    {8, 0xD5, 0x00, false, 0x00, "CRC-8/DVB-S2"},
    {8, 0x1D, 0xFD, false, 0x00, "CRC-8/I-CODE"},
    {8, 0x1D, 0xC7, false, 0x00, "CRC-8/MIFARE-MAD"},
    {8, 0x1D, 0xFF, true, 0x00, "CRC-8/TECH-3250"},
    {16, 0x1021, 0xFFFF, false, 0x0000, "CRC-16/IBM-3740"},
    {16, 0x1021, 0x0000, false, 0x0000, "CRC-16/XMODEM"},
    {16, 0x1021, 0x1D0F, false, 0x0000, "CRC-16/SPI-FUJITSU"},
    {16, 0x1021, 0xFFFF, false, 0xFFFF, "CRC-16/GENIBUS"},
    {16, 0x1021, 0x0000, false, 0xFFFF, "CRC-16/GSM"},
    {16, 0x1021, 0x0000, true, 0x0000, "CRC-16/KERMIT"},
    {16, 0x1021, 0xFFFF, true, 0xFFFF, "CRC-16/IBM-SDLC"},
    {16, 0x8005, 0x0000, true, 0x0000, "CRC-16/ARC"},
    {16, 0x8005, 0xFFFF, true, 0x0000, "CRC-16/MODBUS"},
    // From memory: the other sixteen-bit rows of the catalogue.
    {16, 0x1021, 0xFFFF, true, 0x0000, "CRC-16/MCRF4XX"},
    {16, 0x8005, 0x0000, false, 0x0000, "CRC-16/UMTS"},
    {16, 0x8005, 0xFFFF, false, 0x0000, "CRC-16/CMS"},
    {16, 0x8005, 0xFFFF, true, 0xFFFF, "CRC-16/USB"},
    {16, 0x8005, 0x0000, true, 0xFFFF, "CRC-16/MAXIM-DOW"},
    {16, 0xC867, 0xFFFF, false, 0x0000, "CRC-16/CDMA2000"},
    {16, 0x0589, 0x0000, false, 0x0000, "CRC-16/DECT-X"},
    {16, 0x3D65, 0x0000, true, 0xFFFF, "CRC-16/DNP"},
    {16, 0x8BB7, 0x0000, false, 0x0000, "CRC-16/T10-DIF"},
    {16, 0x5935, 0x0000, false, 0x0000, "CRC-16/OPENSAFETY-A"},
    {16, 0x755B, 0x0000, false, 0x0000, "CRC-16/OPENSAFETY-B"},
    {16, 0x1DCF, 0xFFFF, false, 0xFFFF, "CRC-16/PROFIBUS"},
    {32, 0x04C11DB7, 0xFFFFFFFF, true, 0xFFFFFFFF, "CRC-32/ISO-HDLC"},
    {32, 0xF4ACFB13, 0xFFFFFFFF, true, 0xFFFFFFFF, "CRC-32/AUTOSAR"},
    {32, 0x1EDC6F41, 0xFFFFFFFF, true, 0xFFFFFFFF, "CRC-32/ISCSI"},
    // From memory: the other 32-bit rows of the catalogue.
    {32, 0x04C11DB7, 0xFFFFFFFF, false, 0xFFFFFFFF, "CRC-32/BZIP2"},
    {32, 0x04C11DB7, 0xFFFFFFFF, false, 0x00000000, "CRC-32/MPEG-2"},
    {32, 0x04C11DB7, 0xFFFFFFFF, true, 0x00000000, "CRC-32/JAMCRC"},
    {32, 0x04C11DB7, 0x00000000, false, 0xFFFFFFFF, "CRC-32/CKSUM"},
    {32, 0xA833982B, 0xFFFFFFFF, true, 0xFFFFFFFF, "CRC-32/BASE91-D"},
    {32, 0x814141AB, 0x00000000, false, 0x00000000, "CRC-32/AIXM"},
};

}  // namespace

std::span<const PublishedCrc> published_crcs() { return catalogue; }

}  // namespace foundling
