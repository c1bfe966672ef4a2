-- 3 x 3 x 2 parts, 4 voltages, 5 loads, 3 rooms: 1080 points, some of them infeasible.
local hl = require "heatledger"
return hl.sweep {
  adapter = "module.lua",
  axes = {
    { "source.voltage", list = { "11 V", "18 V", "24 V", "30 V" } },
    { "buck.high_switch", parts = hl.parts "parts.yaml", where = function(p) return p.values.rated_voltage == 40 end },
    { "buck.low_switch", parts = hl.parts "parts.yaml", where = function(p) return p.values.rated_voltage == 40 end },
    { "buck.inductor", parts = { hl.parts("parts.yaml").inductor_a, hl.parts("parts.yaml").inductor_b } },
    { "load", from = 0.2, to = 1, steps = 5 },
    { "ambient.temperature", list = { "0 degC", "25 degC", "40 degC" } },
  },
  figures = { "efficiency", "loss_w", "part_hottest_c", "case_hottest_c", "buck.high_switch.loss_w" },
  derive = {
    cost = function(r)
      local price = { switch_a = 0.3, switch_b = 0.2, switch_c = 0.9, inductor_a = 0.4, inductor_b = 0.6 }
      return price[r["buck.high_switch"]] + price[r["buck.low_switch"]] + price[r["buck.inductor"]]
    end,
  },
  limits = { part_hottest_c = { most = 90 } },
}
