-- exit: 1
-- expect: part_of_nothing.lua:7
-- expect: no part is named 'q1'
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local part = hl.parts "empty.yaml"
a:supply { voltage = "48 V" } local x = part.q1
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
