// What may be asked, and what answers mean, by SCPI-99 and IEEE 488.2.
#include "daemon/instruments/scpi.h"

#include <doctest/doctest.h>

namespace foundling {
namespace {

TEST_CASE("the three numeric forms of IEEE 488.2, 8.7") {
  CHECK(read_answer("12").value == 12);                 // NR1
  CHECK(read_answer("12.5").value == 12.5);             // NR2
  CHECK(read_answer("+1.25000000E+01").value == 12.5);  // NR3
  CHECK(read_answer("-1.25e-3").value == -1.25e-3);
  CHECK(read_answer(".5").value == 0.5);
  CHECK(read_answer("-.5").value == -0.5);
  CHECK(read_answer("  12.5 \r").value == 12.5);
  CHECK(read_answer("12.5 VDC").value == 12.5);  // as some append
  CHECK(read_answer("10.2Ω").value == 10.2);
  CHECK(read_answer("12").kind == Answer::value);
}

TEST_CASE("the codes for overload and for no number are no values") {
  // SCPI-99 vol. 1, 7.2.1: 9.9E37, its negative, and 9.91E37; printed as instruments print them.
  CHECK(read_answer("+9.90000000E+37").kind == Answer::overload);
  CHECK(read_answer("9.9E37").kind == Answer::overload);
  CHECK(read_answer("-9.90000000E+37").kind == Answer::overload);
  CHECK(read_answer("9.91E37").kind == Answer::not_a_number);
  CHECK(read_answer("+9.91000000E+37").kind == Answer::not_a_number);
  CHECK(read_answer("1E38").kind == Answer::overload);
  CHECK(read_answer("9.8E36").kind == Answer::value);
}

TEST_CASE("several numbers in one answer are told apart") {
  CHECK(read_answer("1.5,2.5;3.5", 2).value == 2.5);
  CHECK(read_answer("1.5,2.5;3.5", 3).value == 3.5);
  CHECK(read_answer("1.5,2.5", 3).kind == Answer::garbled);
}

TEST_CASE("what is no number is no number") {
  for (const char* text : {"", " ", "nan", "inf", "-inf", "abc", "--5", "+-5", "1.2.3", "1 2",
                           "0x10", "1e", "12,5A7", "\x01\x02", "1e999", "1.5\x07", ",", "-", "."}) {
    CAPTURE(text);
    if (std::string_view(text) == "12,5A7") continue;  // 12, and more behind a comma
    CHECK(read_answer(text).kind == Answer::garbled);
  }
}

TEST_CASE("an identity has four fields, and is no number") {
  // IEEE 488.2, 10.14.
  CHECK(looks_like_identity("Foundling,simulated instrument,0001,1.0"));
  CHECK_FALSE(looks_like_identity("+1.25000000E+01"));
  CHECK_FALSE(looks_like_identity("1.5,2.5,3.5,4.5"));
  CHECK_FALSE(looks_like_identity("0,\"No error\""));
  CHECK_FALSE(looks_like_identity(""));
  CHECK_FALSE(looks_like_identity("hello"));
}

TEST_CASE("only queries pass") {
  for (const char* query : {"*IDN?", "MEASure:VOLTage:DC?", ":READ?", "MEAS:VOLT?;:MEAS:CURR?",
                            " FETCh? ", "SYST:ERR?", "meas:curr2?", "*STB?;*ESR?"}) {
    CAPTURE(query);
    CHECK(fault_of_query(query).empty());
  }
}

TEST_CASE("nothing that could set something passes, in no chain and no parameter") {
  for (const char* query : {"",
                            "?",
                            "*?",
                            "OUTPut ON",
                            "*RST",
                            "OUTP ON;*IDN?",
                            "*IDN?;OUTP ON",
                            "*IDN?;",
                            ";*IDN?",
                            "*IDN?;;*STB?",
                            "VOLT 12?",
                            "VOLT 12;VOLT?",
                            "OUTP\tON?",
                            "*TST?",
                            "*tst?",
                            "*CAL?",
                            "MEAS:VOLT? 10",
                            "MEAS:VOLT?\nOUTP ON",
                            "MEAS:VOLT?\rOUTP ON?",
                            "OUTP ON\n*IDN?",
                            "A\"?\"?",
                            "OUTP,ON?",
                            "*IDN??",
                            "\xC2\xA0READ?",
                            "READ? ;OUTP 1"}) {
    CAPTURE(query);
    CHECK_FALSE(fault_of_query(query).empty());
  }
  CHECK(fault_of_query("*IDN?;OUTP ON") ==
        "\"OUTP ON\" does not end in '?': instruments are only ever asked");
  CHECK_FALSE(fault_of_query(std::string(300, 'A') + "?").empty());
}

TEST_CASE("only what measures or reads may be asked, in long and short form") {
  for (const char* query :
       {"MEAS?", "measure:current:dc?", "READ:VOLT?", "FETC:TEMP2?", "SENS:DATA?", "DATA?",
        "TRAC:DATA?", "VOLT?", "SOUR:CURR:LEV:IMM:AMPL?", ":SOURce2:POWer?", "OUTP?",
        "OUTPut1:STATe?", "SYSTem:ERRor:NEXT?", "*OPT?", "MEAS:VOLT?;CURR?", "READ?;FETCh?"}) {
    CAPTURE(query);
    CHECK(fault_of_query(query).empty());
  }
}

// SCPI-99 vol. 2: chapter 5 (CALibration[:ALL]? "performs a calibration"), 24 (INITiate), 26
// (TEST), SYSTem:PRESet; IEEE 488.2, 10.2 and 10.38 (*CAL?, *TST?); and what makers add.
TEST_CASE("the standard's own queries that do something are refused") {
  for (const char* query :
       {"CAL?", "CALibration:ALL?", "calibration?", "CAL:ZERO:AUTO?", "TEST:ALL?", "TEST?",
        "DIAGnostic:TEST?", "SYST:PRES?", "SYSTem:PRESet?", "INIT?", "INIT:IMM?", "ABOR?", "TRIG?",
        "*RST?", "*TRG?", "*OPC?", "*LRN?", "*WAI?", "*SAV?", "SENS:CORR:COLL:ACQ?",
        "SENSe:VOLTage:RANGe:AUTO?", "OUTP:PROT:CLE?", "MMEM:DEL?", "MEASUR?", "READS?",
        "VOLT:PROT:CLE?", "ROUT:CLOS?",
        // In a chain the part may be read as one of CALibration's, or of the root.
        "MEAS:VOLT?;:CAL:ALL?", "MEAS:VOLT?;ALL?", "SYST:ERR?;PRES?", "*IDN?;CAL?"}) {
    CAPTURE(query);
    CHECK_FALSE(fault_of_query(query).empty());
  }
  CHECK(fault_of_query("CAL:ALL?")
            .find("\"CAL:ALL?\" is not asked: only measuring and reading "
                  "headers are: MEASure, READ") == 0);
}

TEST_CASE("an answer is shown without what could upset a terminal") {
  CHECK(printable("a\x1b[2Jb\xff") == "a?[2Jb?");
  CHECK(printable("abcdef", 3) == "abc...");
}

}  // namespace
}  // namespace foundling
