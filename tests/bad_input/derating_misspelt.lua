-- exit: 1
-- expect: derating_misspelt.lua:5: derating: no kind of limit 'voltge'; did you mean 'voltage'?
local hl = require "heatledger"
local bench = hl.adapter "bench"
bench:derating { voltge = 0.8, ["drain voltage"] = 0.9 }
bench:supply { voltage = "48 V" }
bench:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return bench
