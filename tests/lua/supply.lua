-- A supply and its one consumer, which borrow.lua takes with figures of its own.
local hl = require "heatledger"
local given, count = ...
local a = hl.adapter((given or {}).name or "alone")
a:supply { voltage = "12 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = (given or {}).power or "1 W" }
return a, select("#", ...), count
