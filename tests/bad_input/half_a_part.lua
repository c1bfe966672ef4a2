-- exit: 1
-- expect: half_a_part.lua:7: s.sense_resistor: count = 2.5 is no whole number; give the number of parts side by side, such as count = 2
local hl = require "heatledger"
local part = hl.parts "shunt.yaml"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "s" { model = "output_switch", fed_by = "source", sense_resistor = { part.shunt, count = 2.5 } }
return a
