-- The mains stage that no example has, and a flyback on measured figures.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local box = hl.adapter "totem pole"
box:mains { voltage = "230 Vrms", frequency = "50 Hz" }
box:ambient { temperature = "25 degC" }
box:stage "pfc" {
  model = "totem_pole_pfc", fed_by = "mains", mode = "continuous", switching_frequency = "100 kHz",
  output_voltage = "390 V", fast_switch = part.silicon_carbide, slow_rectifier = part.measured_switch,
  boost_inductor = part.line_coil, capacitors = { bulk = part.electrolytic },
}
box:stage "flyback" {
  model = "flyback", fed_by = "pfc", output_voltage = "20 V", switching_frequency = "100 kHz", clamp_voltage = "240 V",
  switch = part.measured_switch, transformer = part.transformer, rectifier = part.silicon,
  capacitors = { output = { part.ceramic, count = 8 } },
}
box:port "out" { fed_by = "flyback", voltage = "20 V", current = "3 A" }
return box
