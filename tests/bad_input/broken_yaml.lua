-- exit: 1
-- expect: broken.yaml:
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local part = hl.parts "broken.yaml"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
