-- exit: 1
-- expect: unknown_key_of_a_spread.lua:7: spread: 'sample' means nothing here; did you mean 'samples'? Known: samples, seed
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
hl.spread(a, { sample = 10 })
return a
