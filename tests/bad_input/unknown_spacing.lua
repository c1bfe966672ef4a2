-- exit: 1
-- expect: unknown_spacing.lua:7: axis 'load': no spacing 'loga'; did you mean 'log'? Known: linear, log
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
hl.sweep { adapter = a, axes = { { "load", from = 0.1, to = 1, steps = 3, spacing = "loga" } } }
return a
