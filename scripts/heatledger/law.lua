-- law: what the efficiency laws of external power supplies ask for, and whether figures meet it.
--
--   local law = require "heatledger.law"
--   law.check { ports = { { voltage = 20, current = 2.25 } }, nameplate = 45,
--               runs = { { voltage = 230, frequency = 50, points = { { load = 0.25, efficiency = 0.9 }, ... } } } }
--
-- A law is one file in the folder laws beside this one: a table of classes, each with bands of nameplate
-- power.  Nothing here is a certificate.

local binding = require "heatledger.binding"
local words = require "heatledger.words"

local law = {}

-- The loads that the average is formed of, as shares of the nameplate current.
-- source: 10 CFR 430 subpart B, appendix Z (proposal of 2 November 2021), loading conditions 1 to 4.
law.average_loads = { 0.25, 0.50, 0.75, 1.00 }
law.low_load = 0.10

local nearly = 1e-9 -- of a band's end: 20 V x 2.45 A is 49 W

-- ------------------------------------------------------------------- rules --

-- All laws of the library, in order of file name.
function law.all()
  local list = {}
  for i, name in ipairs(binding.library_files("laws")) do list[i] = require("heatledger.laws." .. name) end
  return list
end

-- The laws that bear one of the names, or all.
function law.named(names)
  local all = law.all()
  if not names then return all end
  local by_name, known, list = {}, {}, {}
  for i, rule in ipairs(all) do by_name[rule.name], known[i] = rule, rule.name end
  for i, name in ipairs(names) do
    if not by_name[name] then words.fail("no law is named '%s'%s", tostring(name), words.instead(name, known)) end
    list[i] = by_name[name]
  end
  return list
end

-- The band that the nameplate power lies in, W; `to` belongs to its band.
function law.band(bands, power)
  for _, band in ipairs(bands) do
    if not band.to or power <= band.to * (1 + nearly) then return band end
  end
  return nil
end

-- constant + per_watt P + per_log ln P, P in W.
function law.value(band, power)
  return (band.constant or 0) + (band.per_watt or 0) * power + (band.per_log or 0) * math.log(power)
end

-- The same in words: "0.071 ln P - 0.0014 P + 0.67".
function law.formula(band)
  local text = ""
  local function add(factor, symbol)
    if not factor then return end
    local size = ("%.6g"):format(math.abs(factor)) .. symbol
    if text == "" then
      text = (factor < 0 and "-" or "") .. size
    else
      text = text .. (factor < 0 and " - " or " + ") .. size
    end
  end
  add(band.per_log, " ln P")
  add(band.per_watt, " P")
  add(band.constant, "")
  return text
end

-- ----------------------------------------------------------------- classes --

-- "one", "one_voltage" (several ports of the same voltage) or "different_voltages".
local function kind_of(ports)
  if #ports == 1 then return "one" end
  for _, port in ipairs(ports) do
    if math.abs(port.voltage - ports[1].voltage) > nearly * ports[1].voltage then return "different_voltages" end
  end
  return "one_voltage"
end

local fits_kind = {
  several = { one_voltage = true, different_voltages = true },
  different_voltages = { different_voltages = true },
  one_voltage = { one = true, one_voltage = true },
}

local function fits(when, ports)
  if when.ports and not fits_kind[when.ports][kind_of(ports)] then return false end
  local current = 0
  for _, port in ipairs(ports) do
    if when.voltage_below and port.voltage >= when.voltage_below then return false end
    current = current + port.current
  end
  return not when.current_from or current >= when.current_from * (1 - nearly)
end

-- The class of a supply under a law, or nil and why none fits.
function law.class(rule, ports)
  for _, class in ipairs(rule.classes) do
    if fits(class.when, ports) then return class end
  end
  return nil, rule.no_class or "none of its classes fits"
end

-- Why the law does not cover this power, or nil.
local function outside(rule, power)
  local from, to = rule.scope.from, rule.scope.to
  if from and power < from * (1 - nearly) or to and power > to * (1 + nearly) then
    return ("it covers %s; this is %.4g W"):format(rule.scope.words, power)
  end
end

-- ----------------------------------------------------------------- figures --

local function point_at(run, load)
  for _, point in ipairs(run.points) do
    if math.abs(point.load - load) < nearly then return point end
  end
end

-- Arithmetic mean of the efficiencies at 25, 50, 75 and 100 % load (not all output over all input), and how
-- many of the four are in it.  A missing one makes the mean unknown, unless the adapter cannot hold that load
-- ("infeasible") and the law leaves such loads out; "left out" leaves out every missing one, for a look only.
-- source: 10 CFR 430 subpart B, appendix Z (proposal of 2 November 2021)
function law.average(run, missing)
  local sum, n = 0, 0
  for _, load in ipairs(law.average_loads) do
    local point = point_at(run, load)
    if point and point.efficiency then
      sum, n = sum + point.efficiency, n + 1
    elseif missing ~= "left out" and not (missing == "infeasible" and point and point.status == "infeasible") then
      return nil, 0
    end
  end
  if n == 0 then return nil, 0 end
  return sum / n, n
end

local function efficiency_at(run, load)
  local point = point_at(run, load)
  return point and point.efficiency
end

local function no_load_power(run)
  local point = point_at(run, 0)
  return point and point.input
end

local function run_at(runs, mains)
  for _, run in ipairs(runs) do
    if math.abs(run.voltage - mains.voltage) < 0.5 and math.abs(run.frequency - mains.frequency) < 0.5 then
      return run
    end
  end
end

-- ---------------------------------------------------------------- verdicts --

local function verdict(margin)
  if not margin then return "not determined" end
  return margin >= 0 and "meets" or "falls short"
end

-- An efficiency must be at least, a power at most what is required.
local function efficiency_requirement(what, clause, band, power, found)
  local required = law.value(band, power)
  local margin = found and found - required
  return { what = what, clause = clause, formula = law.formula(band), sense = "at least", unit = "1",
    required = required, found = found, margin = margin, verdict = verdict(margin) }
end

local function power_requirement(what, clause, band, found)
  local margin = found and band.watts - found
  return { what = what, clause = clause, formula = ("%.6g W"):format(band.watts), sense = "at most", unit = "W",
    required = band.watts, found = found, margin = margin, verdict = verdict(margin) }
end

local function requirements_of(rule, class, power, run)
  local list = {}
  local function add(requirement) list[#list + 1] = requirement end
  add(efficiency_requirement("average efficiency", rule.average_clause, law.band(class.average, power), power,
    (law.average(run, rule.average_leaves_out))))
  if class.low_load then
    add(efficiency_requirement("efficiency at 10 % load", rule.low_load_clause, law.band(class.low_load, power),
      power, efficiency_at(run, law.low_load)))
  end
  add(power_requirement("no-load power", rule.no_load_clause, law.band(class.no_load, power), no_load_power(run)))
  return list
end

-- One shortfall decides; else one unknown does.
local function overall(requirements)
  local result = "meets"
  for _, requirement in ipairs(requirements) do
    if requirement.verdict == "falls short" then return "falls short" end
    if requirement.verdict == "not determined" then result = "not determined" end
  end
  return result
end

local function judge(rule, measured)
  local entry = { law = rule.name, title = rule.title, year = rule.year, source = rule.source,
    binding = rule.binding, mains = rule.mains, seen = rule.seen, notes = rule.notes, from = rule.from, to = rule.to }
  local function not_for(reason)
    entry.verdict, entry.reason = "does not apply", reason
    return entry
  end
  local reason = outside(rule, measured.nameplate)
  if reason then return not_for(reason) end
  local class, no_class = law.class(rule, measured.ports)
  if not class then return not_for(no_class) end
  local run = run_at(measured.runs, rule.mains)
  if not run then
    return not_for(("it asks for a test at %g V, %g Hz"):format(rule.mains.voltage, rule.mains.frequency))
  end
  entry.class, entry.class_title, entry.reason, entry.class_seen = class.name, class.title, class.why, class.seen
  entry.requirements = requirements_of(rule, class, measured.nameplate, run)
  entry.verdict = overall(entry.requirements)
  return entry
end

local function number(value, what)
  if type(value) ~= "number" or not (value > 0 and value < math.huge) then
    words.fail("%s: expected a number above 0, found %s", what, tostring(value))
  end
end

-- Judge figures by all laws, or by those named.
--   measured.ports      { { voltage = V, current = A }, ... } as stated on the nameplate
--   measured.nameplate  output power in W
--   measured.runs       { { voltage = V, frequency = Hz, points = { { load = share of 1, efficiency = 0..1,
--                       input = W }, ... } }, ... }; load 0 is no load
function law.check(measured, names)
  number(measured.nameplate, "nameplate output power in W")
  if type(measured.ports) ~= "table" or #measured.ports == 0 then words.fail "law.check: name at least one port" end
  for _, port in ipairs(measured.ports) do number(port.voltage, "port voltage in V") end
  local verdicts = {}
  for i, rule in ipairs(law.named(names)) do verdicts[i] = judge(rule, measured) end
  return verdicts
end

return law
