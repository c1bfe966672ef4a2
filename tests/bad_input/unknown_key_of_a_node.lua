-- exit: 1
-- expect: unknown_key_of_a_node.lua:7: node sink: 'capacty' means nothing here; did you mean 'capacity'? Known: capacity
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:node "sink" { capacty = "5 J/K" }
return a
