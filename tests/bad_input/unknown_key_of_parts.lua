-- exit: 1
-- expect: unknown_key_of_parts.lua:4: parts: 'estimate' means nothing here; did you mean 'estimates'? Known: estimates, over
local hl = require "heatledger"
local _ = hl.parts { "shunt.yaml", estimate = false }
