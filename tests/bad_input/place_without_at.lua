-- exit: 1
-- expect: place_without_at.lua:9: consumer at: missing; three lengths are wanted, such as "88 x 60 x 31 mm"
local hl = require "heatledger"
local bench = hl.adapter "bench"
bench:supply { voltage = "48 V" }
bench:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
bench:box { size = "60 x 40 x 20 mm" }
bench:board "main" { low = "4 x 4 x 6 mm", high = "56 x 36 x 7.6 mm", copper = "70 um" }
bench:place "consumer" { board = "main" }
return bench
