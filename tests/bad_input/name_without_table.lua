-- exit: 1
-- expect: name_without_table.lua:8: port "p" is followed by no table; write port "p" { ... }, without brackets or comma
-- expect: name_without_table.lua:9: stage "x" is followed by no table
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:port("p", { fed_by = "consumer", voltage = "5 V", current = "1 A" })
local _ = a:stage "x"
return a
