-- A diode buck in a small case of still air; the heat field decides how far its leaking rectifier may be driven.  Invented.
local hl = require "heatledger"
local part = hl.parts "leaky.yaml"
local box = hl.adapter "leaky buck in a box"
box:supply { voltage = "48 V" }
box:stage "buck" { model = "synchronous_buck", fed_by = "source", switching_frequency = "200 kHz",
  light_load = "diode_emulation", high_switch = part.high, low_switch = part.diode, inductor = part.coil }
box:port "out" { fed_by = "buck", voltage = "12 V", current = "1.2 A" }
box:box { size = "90 x 60 x 28 mm", wall = "2 mm", material = "polycarbonate", network = "field", up = "z1" }
box:board "main" { low = "5 x 5 x 9 mm", high = "85 x 55 x 10.6 mm", copper = "140 um", coverage = 0.7 }
box:place "buck.high_switch" { at = "25 x 25 x 11.1 mm", board = "main" }
box:place "buck.low_switch" { at = "45 x 25 x 11.75 mm", board = "main" }
box:place "buck.inductor" { at = "62 x 30 x 13.1 mm", board = "main" }
return box
