-- The dc stages that no example has, one behind the other.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local chain = hl.adapter "dc stages"
chain:supply { voltage = "12 V" }
chain:ambient { temperature = "25 degC" }
chain:stage "boost" {
  model = "boost", fed_by = "source", switching_frequency = "300 kHz", output_voltage = "24 V", phases = 2,
  switch = part.silicon, rectifier = part.diode, inductor = part.powder_coil, sense_resistor = part.trace,
  capacitors = { output = { part.ceramic, count = 6 } },
}
chain:stage "four" {
  model = "four_switch_buck_boost", fed_by = "boost", switching_frequency = "300 kHz", output_voltage = "20 V",
  input_high_switch = part.silicon, input_low_switch = part.silicon,
  output_low_switch = part.silicon, output_high_switch = part.silicon, inductor = part.coil,
  capacitors = { output = { part.ceramic, count = 6 } },
}
chain:stage "smooth" {
  model = "lc_output_filter", fed_by = "four", ripple_voltage = "80 mV", ripple_frequency = "300 kHz",
  inductor = part.coil, capacitors = { output = { part.ceramic, count = 2 } },
}
chain:port "out" { fed_by = "smooth", voltage = "20 V", current = "2 A" }
return chain
