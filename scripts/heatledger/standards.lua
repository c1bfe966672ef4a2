-- standards: what the mains may be made to carry, and what the pins of a pulled plug may hold.
--
--   local standards = require "heatledger.standards"
--   for _, entry in ipairs(standards.of(result_at_230_v)) do print(entry.title, entry.verdict) end
--
-- Entries have the shape of a law's (law.lua): a verdict, and requirements that name clause and number.  The data
-- are in the folder limits.  Nothing here is a certificate.

local discharge_data = require "heatledger.limits.discharge_iec_62368_1"
local words = require "heatledger.words"
local harmonics_data = require "heatledger.limits.harmonics_iec_61000_3_2"

local standards = { harmonics = harmonics_data, discharge = discharge_data }

local function verdict(margin) return margin >= 0 and "meets" or "falls short" end

local function entry_of(data, more)
  local entry = { law = data.name, title = data.title, year = data.year, binding = false, mains = data.mains,
    seen = data.seen }
  for key, value in pairs(more) do entry[key] = value end
  return entry
end

local function requirement(what, clause, formula, unit, required, found)
  return { what = what, clause = clause, formula = formula, sense = "at most", unit = unit, required = required,
    found = found, margin = required - found, verdict = verdict(required - found) }
end

-- --------------------------------------------------------------- harmonics --

local function row_for(class, order)
  for _, row in ipairs(class.rows) do
    if row.order == order then return row end
    if row.from and order >= row.from and order <= row.to and (order - row.from) % 2 == 0 then return row end
  end
end

local function class_named(name)
  for _, class in ipairs(harmonics_data.classes) do
    if class.name == name then return class end
  end
  words.fail("no class of harmonics is named '%s'; known: a, d", tostring(name))
end

-- A rms that a class allows at an order and an input power in W, and the formula; nil: the order is not limited.
function standards.harmonic_limit(name, order, power)
  local class = class_named(name)
  local row = row_for(class, order)
  if not row then return nil end
  if row.amperes then return row.amperes, "" end
  if row.amperes_times_order then
    return row.amperes_times_order / order, ("%.6g A / %d"):format(row.amperes_times_order, order)
  end
  local each = row.per_watt or row.per_watt_times_order / order
  local limit, formula = each * power, ("%.4g mA/W at %.4g W"):format(1000 * each, power)
  local most, whole = standards.harmonic_limit(class.never_above, order, power)
  if limit > most then return most, whole end
  return limit, formula
end

local rounding = 1e-9 -- A: what is left of a sum that is nil

-- Every order that a class limits: { order, found, required, used }, and the one that uses most of its limit.
function standards.harmonics_of(name, amperes, power)
  local list, worst = {}, nil
  for order = 2, #amperes do
    local limit, formula = standards.harmonic_limit(name, order, power)
    if limit then
      local found = amperes[order] > rounding and amperes[order] or 0
      local row = { order = order, found = found, required = limit, used = found / limit, formula = formula }
      list[#list + 1] = row
      if not worst or row.used > worst.used then worst = row end
    end
  end
  return list, worst
end

local function judge_class(class, amperes, power)
  local entry = entry_of(harmonics_data, { class = class.name, class_title = class.title })
  if power <= harmonics_data.from_input then
    entry.verdict = "does not apply"
    entry.reason = ("%s, %s: no limit up to %g W of input; this takes %.4g W"):format(class.title, class.clause,
      harmonics_data.from_input, power)
  elseif class.to_input and power > class.to_input then
    entry.verdict = "does not apply"
    entry.reason = ("%s, %s: it ends at %g W of input; this takes %.4g W"):format(class.title, class.clause,
      class.to_input, power)
  end
  local list, worst = standards.harmonics_of(class.name, amperes, power)
  entry.orders = list
  if entry.verdict then return entry end
  entry.requirements = { requirement(("harmonic %d"):format(worst.order), class.clause,
    worst.formula, "A", worst.required, worst.found) }
  entry.requirements[1].used = worst.used
  entry.verdict = entry.requirements[1].verdict
  return entry
end

-- --------------------------------------------------------------- discharge --

-- V that may be left at the pins with this capacitance in F behind them; nil: so little may hold any voltage.
function standards.discharge_limit(capacitance)
  local rows, nearly = discharge_data.rows, 1e-9
  for i, row in ipairs(rows) do
    if capacitance >= row.from * (1 - nearly) then
      local on_the_row = capacitance <= row.from * (1 + nearly)
      return rows[(on_the_row or i == 1) and i or i - 1].volts
    end
  end
  return capacitance > 0 and rows[#rows].volts or nil
end

-- V at the pins some seconds after unplugging at the crest of the mains: V0 e^(-t / R C).  Without a resistor the
-- charge stays.  source: definition of a capacitor's discharge
function standards.left_after(seconds, mains, time_constant)
  local crest = math.sqrt(2) * mains
  return time_constant and crest * math.exp(-seconds / time_constant) or crest
end

local function value_of(stage, name)
  local quantity = stage.quantities[name]
  return quantity and quantity.value
end

local function judge_discharge(result)
  local entry = entry_of(discharge_data, {})
  for _, stage in ipairs(result.stages) do
    local capacitance = value_of(stage, "discharge_capacitance")
    if capacitance and capacitance > 0 then
      local tau = value_of(stage, "discharge_time_constant")
      local left = standards.left_after(discharge_data.after, discharge_data.mains.voltage, tau)
      local size = capacitance >= 1e-6 and ("%.3g uF"):format(1e6 * capacitance)
        or ("%.3g nF"):format(1e9 * capacitance)
      local how = tau and ("%s emptied with a time constant of %.3g s"):format(size, tau)
        or size .. " and no resistor that empties it"
      entry.requirements = { requirement(("plug voltage after %g s"):format(discharge_data.after),
        discharge_data.clause,
        how, "V", standards.discharge_limit(capacitance), left) }
      entry.verdict = entry.requirements[1].verdict
      local before = discharge_data.before
      if tau and capacitance > before.above then
        entry.notes = { ("the standard before it, %s, asked for a time constant of at most %g s above %g nF: %s")
          :format(
          before.title, before.time_constant, 1e9 * before.above, verdict(before.time_constant - tau)) }
      elseif not tau then
        entry.notes = { "a circuit that empties the capacitor only when unplugged is described as a discharge_resistor "
          .. "of the same effect" }
      end
      return entry
    end
  end
  entry.verdict, entry.reason = "not determined", "no input filter with an X capacitor is described"
  return entry
end

-- ------------------------------------------------------------------- whole --

-- Verdicts on a result solved at 230 V, 50 Hz and full load (hl.adapter's solve).
function standards.of(result)
  local list = {}
  if #(result.mains_harmonics_a or {}) > 0 then
    for _, class in ipairs(harmonics_data.classes) do
      list[#list + 1] = judge_class(class, result.mains_harmonics_a, result.power.input_w)
    end
    local other = harmonics_data.unchecked
    list[#list + 1] = entry_of(harmonics_data, { class = other.name, class_title = other.title,
      verdict = "not checked", reason = ("%s: %s"):format(other.title, other.reason) })
  end
  list[#list + 1] = judge_discharge(result)
  return list
end

return standards
