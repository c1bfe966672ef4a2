-- exit: 1
-- expect: lies outside the script
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local part = hl.parts "../../CMakeLists.txt"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
