-- exit: 1
-- expect: unknown_statement.lua:6: an adapter has no statement 'suply'; did you mean 'supply'? Known: ambient, board, box
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"

a:suply { voltage = "12 V" }
return a
