-- exit: 1
-- expect: box_without_unit.lua:7: box size: 
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = { 88, 60, 31 } }
return a
