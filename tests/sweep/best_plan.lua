-- The best choice of three parts at one operating point.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local switches = { part.switch_a, part.switch_b, part.switch_c }
return hl.sweep {
  adapter = "module.lua",
  axes = {
    { "buck.high_switch", parts = switches },
    { "buck.low_switch", parts = switches },
    { "buck.inductor", parts = { part.inductor_a, part.inductor_b } },
    { "load", list = { 0.25, 1 } },
  },
  keep = { best = 3, by = "efficiency", highest = true },
}
