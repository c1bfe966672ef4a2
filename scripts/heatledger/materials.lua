-- materials: thermal figures of what cases, boards and fillings are made of.
-- conductivity W/(m K); density_heat = density x specific heat, J/(m^3 K); emissivity of a bare surface.
-- Typical figures of the trade, from memory, unless a source is named; give your own table for a known grade.

local table_of = {
  ["polycarbonate"]   = { conductivity = 0.20, density_heat = 1.44e6, emissivity = 0.90 },
  ["abs"]             = { conductivity = 0.18, density_heat = 1.50e6, emissivity = 0.90 },
  ["polycarbonate abs"] = { conductivity = 0.19, density_heat = 1.47e6, emissivity = 0.90 },
  ["glass epoxy"]     = { conductivity = 0.35, density_heat = 2.20e6, emissivity = 0.90 },
  ["copper"]          = { conductivity = 390,  density_heat = 3.45e6, emissivity = 0.05 },
  ["aluminium"]       = { conductivity = 200,  density_heat = 2.43e6, emissivity = 0.10 },
  ["silicone potting"] = { conductivity = 0.65, density_heat = 1.90e6, emissivity = 0.90 },
  ["epoxy potting"]   = { conductivity = 0.80, density_heat = 2.10e6, emissivity = 0.90 },
}

local words = require "heatledger.words"

local materials = {}

local figures = words.set("conductivity", "density_heat", "emissivity")

local function known_names()
  local names = {}
  for name in pairs(table_of) do names[#names + 1] = name end
  table.sort(names)
  return names
end

-- Figures of a material by name, or the table itself when one is given.
function materials.of(material, what)
  if type(material) == "table" then
    for _, key in ipairs { "conductivity", "density_heat", "emissivity" } do
      if type(material[key]) ~= "number" then
        words.fail("%s: a material table needs %s as a number in SI", what, key)
      end
    end
    words.known(what, material, figures)
    return material
  end
  local found = table_of[material]
  if found then return found end
  words.one(what, material, table_of, "material")
end

-- What a hand feels of it, as the touch limits sort materials: metal from 5 W/(m K) on, for stainless steel, the worst
-- conductor among metals, has 15 and filled plastics end below.  Common practice, no source.
function materials.feels(of) return of.conductivity >= 5 and "metal" or "plastic" end

-- All of them as the table of the manual.
function materials.markdown()
  local rows = {
    "| material | conductivity, W/(m K) | heat, J/(cm^3 K) | emissivity, bare |", "| --- | ---: | ---: | ---: |",
  }
  for _, name in ipairs(known_names()) do
    local of = table_of[name]
    rows[#rows + 1] = ("| `%s` | %.3g | %.2f | %.2f |")
      :format(name, of.conductivity, of.density_heat / 1e6, of.emissivity)
  end
  return table.concat(rows, "\n")
end

return materials
