-- A desk charger for a laptop, a tablet and a lamp: 157 W from three ports, in a sealed plastic case.
-- Everything here is invented: no such product exists, and its parts (parts.yaml) are of nobody's make.
--
--   heatledger solve examples/desk_charger/charger.lua --set mains.voltage='115 V' --set load=0.5

local hl = require "heatledger"
local given = ... or {} -- by a script that takes this circuit with other parts, as marked.lua does
local part = hl.parts(given.parts or "parts.yaml")

local charger = hl.adapter(given.name or "desk charger, 157 W, three ports")

charger:mains { voltage = "230 Vrms", frequency = "50 Hz" }
charger:ambient { temperature = "25 degC" }

-- --------------------------------------------------------------- mains side --

charger:stage "filter" {
  model = "mains_input_filter", fed_by = "mains",
  fuse = part.fuse,
  thermistor = part.inrush_thermistor,
  common_mode_choke = part.common_mode_choke_1,
  second_common_mode_choke = part.common_mode_choke_2,
  x_capacitor = part.x_capacitor_1,
  second_x_capacitor = part.x_capacitor_2,
  discharge_resistor = part.discharge_resistor,
  varistor = part.varistor,
}

charger:stage "bridge" {
  model = "bridge_rectifier", fed_by = "filter",
  rectifier = { part.bridge, count = 2 },
  capacitors = { film = part.bridge_film },
}

charger:stage "pfc" {
  model = "boost_pfc", fed_by = "bridge",
  mode = "boundary", output_voltage = "392 V", burst_power = "9 W",
  switch = part.pfc_switch, rectifier = part.pfc_diode, boost_inductor = part.pfc_inductor,
  capacitors = { bulk = { part.bulk_capacitor, count = 2 } },
}

charger:stage "primary_housekeeping" { model = "housekeeping", fed_by = "pfc", power = "120 mW" }

-- --------------------------------------------------- to the intermediate bus --

charger:stage "llc" {
  model = "half_bridge_llc", fed_by = "pfc",
  secondary = "centre_tapped", output_voltage = "24 V", dead_time = "220 ns",
  burst_current = "250 mA",
  switch = part.llc_switch, resonant_capacitor = part.resonant_capacitor,
  transformer = part.llc_transformer, rectifier = part.synchronous_rectifier,
  capacitors = { polymer = { part.bus_polymer, count = 3 }, ceramic = { part.bus_ceramic, count = 2 } },
}

charger:stage "secondary_housekeeping" { model = "housekeeping", fed_by = "llc", power = "70 mW" }

-- -------------------------------------------------------------------- ports --

local function port(name, figures)
  charger:stage(name .. "_buck") {
    model = "synchronous_buck", fed_by = "llc",
    switching_frequency = figures.frequency, light_load = "diode_emulation",
    high_switch = part.buck_switch, low_switch = part.buck_switch, inductor = figures.inductor,
    capacitors = {
      polymer = { figures.polymer, count = figures.polymers or 1 },
      ceramic = { part.output_ceramic, count = 2 },
    },
  }
  charger:stage(name .. "_switch") {
    model = "output_switch", fed_by = name .. "_buck",
    switch = part.output_switch, sense_resistor = part.sense_resistor,
  }
  charger:port(name) { fed_by = name .. "_switch", voltage = figures.voltage, current = figures.current }
end

port("usb_c_1", { voltage = "20 V", current = "5 A", frequency = "360 kHz",
  inductor = part.buck_inductor_large, polymer = part.output_polymer, polymers = 2 })
port("usb_c_2", { voltage = "20 V", current = "2.25 A", frequency = "360 kHz",
  inductor = part.buck_inductor_small, polymer = part.output_polymer })
port("usb_a", { voltage = "5 V", current = "2.4 A", frequency = "360 kHz",
  inductor = part.buck_inductor_small, polymer = part.output_polymer_low })

-- --------------------------------------------------------------------- heat --
-- Lengths in the outer coordinates of the case: x along its length, y across, z up.

charger:box { size = "112 x 76 x 36 mm", wall = "2.4 mm", material = "polycarbonate", fill = "air", up = "z1" }

-- Two layers of 70 um copper, a little under half of it etched away.
charger:board "main" { low = "5 x 5 x 8 mm", high = "107 x 71 x 9.6 mm", copper = "140 um", coverage = 0.55 }

-- An aluminium plate on the floor of the case takes the pads of what sits below the board; a thin one lines the lid.
charger:spreader "floor_plate" { low = "5 x 5 x 2.4 mm", high = "107 x 71 x 3.4 mm",
  material = "aluminium", emissivity = 0.8 }
charger:spreader "lid_plate" { low = "5 x 5 x 33.1 mm", high = "107 x 71 x 33.6 mm",
  material = "aluminium", emissivity = 0.8 }

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

on_top("filter.fuse", 12, 12, 8)
on_top("filter.varistor", 12, 24, 14)
on_top("filter.thermistor", 12, 36, 13)
on_top("filter.x_capacitor", 17, 52, 14)
on_top("filter.common_mode_choke", 28, 16, 20)
on_top("filter.second_common_mode_choke", 26, 36, 14)
on_top("filter.second_x_capacitor", 17, 64, 12)
below("filter.discharge_resistor", 16, 58, 0.6)
on_top("bridge.rectifier", 28, 58.4, 10, { pad = "z1", pad_resistance = "14 K/W" })
on_top("bridge.film", 26, 44, 12)
on_top("pfc.boost_inductor", 53, 22, 22)
below("pfc.switch", 52, 42, 0.85, { pad = "z0", pad_resistance = "9 K/W" })
below("pfc.rectifier", 62, 42, 2.3, { pad = "z0", pad_resistance = "12 K/W" })
on_top("pfc.bulk", 50, 57.5, 16, { size = "32 x 32 x 16 mm" }) -- two cans lying side by side
below("llc.switch", 74, 42, 2.3, { pad = "z0", pad_resistance = "9 K/W" })
on_top("llc.resonant_capacitor", 76, 10, 15)
on_top("llc.transformer", 82, 32, 22)
below("llc.rectifier", 88, 50, 1, { pad = "z0", pad_resistance = "9 K/W" })
on_top("llc.polymer", 76, 60, 12)
below("llc.ceramic", 82, 62, 1.6)

local lane = { usb_c_1 = 61, usb_c_2 = 38, usb_a = 15 } -- y of each port at the far end
for name, y in pairs(lane) do
  below(name .. "_buck.high_switch", 90, y - 4, 1, { pad = "z0", pad_resistance = "12 K/W" })
  below(name .. "_buck.low_switch", 90, y + 4, 1)
  on_top(name .. "_buck.inductor", 101, y, 5, { pad = "z1", pad_resistance = "30 K/W" })
  on_top(name .. "_buck.polymer", 102, y - 8.2, 8)
  below(name .. "_buck.ceramic", 99, y + 4, 1.6)
  below(name .. "_switch.switch", 102, y, 1, { pad = "z0", pad_resistance = "15 K/W" })
  below(name .. "_switch.sense_resistor", 104, y + 5, 0.6, { pad = "z0", pad_resistance = "20 K/W" })
end

return charger
