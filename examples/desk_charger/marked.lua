-- The desk charger again, known by its markings only: the same circuit in the same case, with marked_parts.yaml
-- holding what is printed on the parts and what a ruler measures.  Everything else is estimated, and the result says
-- how much of it rests on that.
--
--   heatledger solve examples/desk_charger/marked.lua
--   heatledger solve examples/desk_charger/compare.lua    beside the one known in full

local hl = require "heatledger"

return hl.script("charger.lua", { name = "desk charger known by its markings", parts = "marked_parts.yaml" })
