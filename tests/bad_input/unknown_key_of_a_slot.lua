-- exit: 1
-- expect: s.sense_resistor: 'cuont' means nothing here; did you mean 'count'? Known: alternatives, count
local hl = require "heatledger"
local part = hl.parts "shunt.yaml"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "12 V" }
a:stage "s" { model = "output_switch", fed_by = "source", sense_resistor = { part.shunt, cuont = 4 } }
a:port "p" { fed_by = "s", voltage = "12 V", current = "1 A" }
return a
