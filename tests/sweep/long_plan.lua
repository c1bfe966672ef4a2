-- 8640 points: long enough to be killed in the middle.
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
    { "load", from = 0.1, to = 1, steps = 20 },
    { "ambient.temperature", from = "0 degC", to = "50 degC", steps = 6 },
  },
  figures = { "efficiency", "loss_w", "case_hottest_c", "headroom_used" },
  limits = { headroom_used = { most = 0.9 } },
}
