-- exit: 1
-- expect: port_without_current.lua:7: out current: missing; a figure with its unit is wanted, in A
local hl = require "heatledger"
local bench = hl.adapter "bench"
bench:supply { voltage = "48 V" }
bench:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
bench:port "out" { fed_by = "source", voltage = "48 V" }
return bench
