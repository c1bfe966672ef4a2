-- A charger for the batteries of garden tools: 42 V, 7.2 A (about 300 W) through a cable, potted in an aluminium case.
-- Everything here is invented: no such product exists, and its parts (parts.yaml) are of nobody's make.
--
--   heatledger solve examples/tool_charger/charger.lua --set mains.voltage='115 V' --set load=0.5
--   heatledger solve examples/tool_charger/charger.lua --set battery.voltage='36 V'      # battery half empty

-- Without load its stages keep running: 3 W.  Rules for external power supplies would not take that; chargers of
-- batteries have rules of their own (from memory).

local hl = require "heatledger"
local part = hl.parts "parts.yaml"

local charger = hl.adapter "tool charger, 300 W, potted"

charger:mains { voltage = "230 Vrms", frequency = "50 Hz" }
charger:ambient { temperature = "25 degC" }

-- --------------------------------------------------------------- mains side --

charger:stage "filter" {
  model = "mains_input_filter", fed_by = "mains",
  fuse = part.fuse,
  thermistor = part.inrush_thermistor,
  common_mode_choke = part.common_mode_choke,
  differential_choke = part.differential_choke,
  x_capacitor = part.x_capacitor_1,
  second_x_capacitor = part.x_capacitor_2,
  discharge_resistor = part.discharge_resistor,
  varistor = part.varistor,
}

charger:stage "bridge" {
  model = "bridge_rectifier", fed_by = "filter",
  rectifier = part.bridge,
  capacitors = { film = part.bridge_film },
}

charger:stage "pfc" {
  model = "boost_pfc", fed_by = "bridge",
  mode = "continuous", switching_frequency = "67 kHz", output_voltage = "393 V", minimum_bus_voltage = "320 V",
  switch = part.pfc_switch, rectifier = part.pfc_diode, boost_inductor = part.pfc_inductor,
  capacitors = { bulk = { part.bulk_capacitor, count = 2 } },
}

charger:stage "primary_housekeeping" { model = "housekeeping", fed_by = "pfc", power = "700 mW" }

-- ------------------------------------------------------------------ battery --
-- The resonant converter follows the battery: no output_voltage of its own, the port says it.

charger:stage "llc" {
  model = "half_bridge_llc", fed_by = "pfc",
  secondary = "centre_tapped", dead_time = "280 ns",
  switch = part.llc_switch, resonant_capacitor = part.resonant_capacitor,
  transformer = part.llc_transformer, rectifier = part.synchronous_rectifier,
  capacitors = { electrolytic = { part.output_electrolytic, count = 4 }, ceramic = { part.output_ceramic, count = 4 } },
}

charger:stage "secondary_housekeeping" { model = "housekeeping", fed_by = "llc", power = "400 mW" }

charger:stage "output" {
  model = "output_switch", fed_by = "llc",
  switch = part.output_switch, sense_resistor = part.sense_resistor, cable = part.cable,
}

charger:port "battery" { fed_by = "output", voltage = "42 V", current = "7.2 A" }

-- --------------------------------------------------------------------- heat --
-- Lengths in the outer coordinates of the case: x along its length, y across, z up.  The case is anodised, so it
-- radiates well; silicone fills it, and what makes most heat is pressed against the bottom.

charger:box {
  size = "150 x 80 x 46 mm", wall = "2 mm", material = "aluminium", emissivity = 0.8, inner_emissivity = 0.8,
  fill = "silicone potting", up = "z1",
}

-- Two layers of 70 um copper, a little under half of it etched away.
charger:board "main" { low = "5 x 5 x 8 mm", high = "145 x 75 x 9.6 mm", copper = "140 um", coverage = 0.55 }

-- Bodies stand on the board (z = 9.6 mm) or hang below it (8 mm); `at` is the middle of the body.
local function on_top(item, x, y, height, extra)
  local options = { at = ("%g x %g x %g mm"):format(x, y, 9.6 + height / 2), board = "main" }
  for key, value in pairs(extra or {}) do options[key] = value end
  charger:place(item)(options)
end
local function below(item, x, y, height, extra)
  local options = { at = ("%g x %g x %g mm"):format(x, y, 8 - height / 2), board = "main" }
  for key, value in pairs(extra or {}) do options[key] = value end
  charger:place(item)(options)
end
-- Screwed to a side wall over an insulating pad.
local side = { pad = "y0", pad_resistance = "1.5 K/W" }

on_top("filter.fuse", 10, 12, 8)
on_top("filter.varistor", 12, 24, 19)
on_top("filter.thermistor", 14, 36, 18)
on_top("filter.x_capacitor", 20, 67, 17)
on_top("filter.common_mode_choke", 22, 50, 24)
on_top("filter.differential_choke", 34, 24, 21)
on_top("filter.second_x_capacitor", 44, 66, 18)
below("filter.discharge_resistor", 20, 67, 0.6)
on_top("bridge.rectifier", 40, 7.5, 20, { pad = "y0", pad_resistance = "1 K/W" })
on_top("bridge.film", 44, 51.5, 15)
on_top("pfc.boost_inductor", 62, 25.5, 30)
on_top("pfc.switch", 65, 7.5, 21, side)
on_top("pfc.rectifier", 81, 7.5, 16, side)
on_top("pfc.bulk", 71.5, 59, 18, { size = "36 x 36 x 18 mm" }) -- two cans lying side by side
on_top("llc.switch", 98, 7.5, 16, { pad = "y0", pad_resistance = "1.5 K/W", size = "10 x 4.5 x 16 mm" })
on_top("llc.resonant_capacitor", 89, 27, 18)
on_top("llc.transformer", 114, 34, 30)
below("llc.rectifier", 126, 24, 1, { pad = "z0", pad_resistance = "4 K/W" })
on_top("llc.electrolytic", 116, 62, 25, { size = "52 x 13 x 25 mm" }) -- four in a row
below("llc.ceramic", 130, 48, 1.6)
below("output.switch", 137, 38, 1, { pad = "z0", pad_resistance = "4 K/W" })
below("output.sense_resistor", 137, 28, 0.6)

-- The cable ends in the case; what lies outside, 1.5 m of 8 mm round, gives its heat to the room
-- (about 10 W/(m^2 K)).
on_top("output.cable", 139, 18, 8)
charger:link { "output.cable", "ambient", conductance = "0.38 W/K" }

return charger
