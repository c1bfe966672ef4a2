-- exit: 1
-- expect: nowhere.yaml: cannot be read: No such file or directory
-- expect: missing_part_file.lua:6: names that file; a path counts from the folder of the script
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local part = hl.parts "nowhere.yaml"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
