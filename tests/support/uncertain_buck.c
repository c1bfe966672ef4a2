#include "uncertain_buck.h"

static const char parts[] = "parts:\n"
                            "  high:\n"
                            "    model: silicon_mosfet\n"
                            "    on_resistance: { typical: 9 mohm, tolerance: 25 % }\n"
                            "    rated_voltage: 80 V\n"
                            "    rated_current: 60 A\n"
                            "    gate_charge: { typical: 40 nC, tolerance: 20 % }\n"
                            "    gate_drain_charge: { typical: 8 nC, tolerance: 30 % }\n"
                            "    gate_drive_voltage: 10 V\n"
                            "    output_charge: { typical: 50 nC, tolerance: 20 % }\n"
                            "    output_voltage: 40 V\n"
                            "    maximum_temperature: 150 degC\n"
                            "  coil:\n"
                            "    model: measured_inductor\n"
                            "    inductance: 22 uH\n"
                            "    dc_resistance: { typical: 20 mohm, sigma: 2 mohm }\n";

void uncertain_buck_open(uncertain_buck *b)
{
    drafted_begin(b, parts);
    drafted_source(b, 48, 0);
    drafted_stage(b, "buck", "synchronous_buck", "source");
    drafted_set(b, "buck", "switching_frequency", 200e3);
    drafted_choose(b, "buck", "light_load", "diode_emulation");
    drafted_fill(b, "buck", "high_switch", "high");
    drafted_fill(b, "buck", "low_switch", "high");
    drafted_fill(b, "buck", "inductor", "coil");
    drafted_port(b, "out", "buck", 12, 4);
    drafted_cool(b, "buck.high_switch", 0.04);
    drafted_cool(b, "buck.low_switch", 0.03);
    drafted_cool(b, "buck.inductor", 0.02);
    drafted_finish(b);
}
