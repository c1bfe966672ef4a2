-- exit: 1
-- expect: unknown_key_of_an_axis.lua:7: axis load: 'form' means nothing here; did you mean 'from'? Known: from, list, name
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
hl.sweep { adapter = a, axes = { { "load", form = 0, to = 1, steps = 3 } } }
return a
