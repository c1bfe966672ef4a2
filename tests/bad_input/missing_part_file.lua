-- exit: 1
-- expect: nowhere.yaml
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local part = hl.parts "nowhere.yaml"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
