-- exit: 1
-- expect: unknown_statement.lua:6: an adapter has no statement 'suply'; there are: ambient, board, box
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"

a:suply { voltage = "12 V" }
return a
