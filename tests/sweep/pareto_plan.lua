-- The Pareto set of the same points; a sample, with ranges between the ends.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local switches = { part.switch_a, part.switch_b, part.switch_c }
return hl.sweep {
  adapter = "module.lua",
  axes = {
    { "buck.high_switch", parts = switches },
    { "buck.low_switch", parts = switches },
    { "buck.inductor", parts = { part.inductor_a, part.inductor_b } },
    { "source.voltage", list = { "11 V", "18 V", "24 V", "30 V" } },
    { "load", from = 0.1, to = 1 },
    { "ambient.temperature", from = "0 degC", to = "50 degC" },
  },
  figures = { "efficiency", "loss_w", "case_hottest_c", "headroom_used" },
  sample = 1500, seed = 11,
  keep = { pareto = { "loss_w", highest = { "output_w" } } },
  limits = { headroom_used = { most = 0.9 } },
}
