-- efficiency: an adapter at the loads and mains voltages that the efficiency laws ask for.
--
--   local efficiency = require "heatledger.efficiency"
--   local found = efficiency.of(design, { settings = { ["ambient.temperature"] = "25 degC" }, nameplate = "45 W" })
--   io.write(efficiency.text(found))

local binding = require "heatledger.binding"
local law = require "heatledger.law"
local standards = require "heatledger.standards"
local words = require "heatledger.words"

local efficiency = {}

-- source: the laws' own test conditions; 115 V, 60 Hz and 230 V, 50 Hz are what adapter specifications state.
local mains = { { voltage = 115, frequency = 60 }, { voltage = 230, frequency = 50 } }
local loads = { 0.10, 0.25, 0.50, 0.75, 1.00, 0 }

local caution = "Computed, not measured, and no certificate: the laws want samples tested in a laboratory, after "
  .. "warm-up and through the cable that is sold with the adapter."

-- ------------------------------------------------------------------- ports --

local function ports_of(design, values)
  local ports, stated = {}, 0
  for i, name in ipairs(design:ports()) do
    ports[i] = { port = name, voltage = values[name .. ".voltage"], current = values[name .. ".current"] or 0 }
    stated = stated + ports[i].voltage * ports[i].current
  end
  if stated <= 0 then
    words.fail "efficiency: the ports state no current; give each port the current on its label"
  end
  return ports, stated
end

local function nameplate_of(option, stated)
  if option == nil then return stated end
  local power = option
  if type(option) ~= "number" then
    local good, value = pcall(binding.quantity, option, "W")
    if not good then words.fail("nameplate: %s", words.without_place(value)) end
    power = value
  end
  if not (power > 0 and power < math.huge) then
    words.fail("nameplate: %s is no output power; write it as in --nameplate '45 W'", tostring(option))
  end
  return power
end

-- ------------------------------------------------------------------ points --

local function with(settings, changes)
  local texts = {}
  for name, value in pairs(settings) do texts[name] = value end
  for name, value in pairs(changes) do texts[name] = value end
  return texts
end

-- One load; what cannot be solved is a point with its reason.
local function solve_point(design, texts, load)
  local point = { load = load }
  local good, result = pcall(design.solve, design, texts)
  if not good then
    point.status, point.reason = "error", tostring(result)
    return point
  end
  point.status, point.reason = result.status, result.reason ~= "" and result.reason or nil
  if result.status ~= "solved" then return point, result end
  local power = result.power
  point.input, point.output, point.loss = power.input_w, power.output_w, power.loss_w
  point.power_factor = power.power_factor
  if load > 0 then point.efficiency = power.efficiency end
  return point, result
end

local function run_at(design, settings, source, derating)
  local run = { voltage = source.voltage, frequency = source.frequency, points = {} }
  for i, load in ipairs(loads) do
    local changes = { load = ("%.17g"):format(load * derating) }
    if source.frequency > 0 then
      changes["mains.voltage"] = ("%.17g V"):format(source.voltage)
      changes["mains.frequency"] = ("%.17g Hz"):format(source.frequency)
    end
    local point, result = solve_point(design, with(settings, changes), load)
    run.points[i] = point
    if load == 1 and result and result.status == "solved" then run.full = result end
    if load == 0 then run.no_load = point.input end
  end
  run.average, run.averaged = law.average(run, "left out")
  return run
end

-- -------------------------------------------------------------------- whole --

local function refuse_own(settings, fed_by_mains)
  local own = fed_by_mains and { "load", "mains.voltage", "mains.frequency", "source.voltage" } or { "load" }
  for _, word in ipairs(own) do
    if settings[word] ~= nil then
      words.fail("efficiency: %s is set by the test itself; leave it out", word)
    end
  end
end

local function texts_of(settings)
  local texts = {}
  for name, value in pairs(settings or {}) do
    texts[name] = type(value) == "number" and ("%.17g"):format(value) or value
  end
  return texts
end

local function count(list, test)
  local n = 0
  for _, entry in ipairs(list) do if test(entry) then n = n + 1 end end
  return n
end

-- The standards that look at one point: full load at the mains they name.
local function standards_of(runs)
  local list = {}
  for _, run in ipairs(runs) do
    local asked = standards.harmonics.mains
    if run.full and run.voltage == asked.voltage and run.frequency == asked.frequency then
      list = standards.of(run.full)
    end
    run.full = nil
  end
  return list
end

local option_words = words.set("settings", "nameplate", "laws")

-- options: settings = { name = text }, nameplate = text or W, laws = { names }.
-- Figures are in SI; `standards` are told beside the laws and bind nobody; `shortfalls` counts the laws that bind
-- and are not met, `unsolved` the loads without a solution.
function efficiency.of(design, options)
  options = options or {}
  words.known("efficiency", options, option_words)
  local settings = texts_of(options.settings)
  local values = design:values(settings)
  local fed_by_mains = values["mains.frequency"] > 0
  refuse_own(settings, fed_by_mains)
  local ports, stated = ports_of(design, values)
  local nameplate = nameplate_of(options.nameplate, stated)
  -- Ports that together exceed the nameplate are all drawn down by the same factor D.
  -- source: 10 CFR 430 subpart B, appendix Z (proposal of 2 November 2021), supplies with several output busses
  local derating = math.min(1, nameplate / stated)
  local found = { schema = "heatledger.efficiency/1", design = design:name(), ports = ports, stated = stated,
    nameplate = nameplate, derating = derating, runs = {}, caution = caution, unsolved = 0 }
  local sources = fed_by_mains and mains or { { voltage = values["mains.voltage"], frequency = 0 } }
  for i, source in ipairs(sources) do
    found.runs[i] = run_at(design, settings, source, derating)
    found.unsolved = found.unsolved
      + count(found.runs[i].points, function(point) return point.status ~= "solved" end)
  end
  found.standards = standards_of(found.runs)
  found.laws = fed_by_mains and law.check(found, options.laws) or {}
  found.shortfalls = count(found.laws, function(entry) return entry.binding and entry.verdict == "falls short" end)
  return found
end

-- --------------------------------------------------------------------- text --

-- Words in lines of at most 80 columns, the later ones indented.
local function wrap(text, first, rest)
  local lines, line = {}, first
  local empty = true
  for word in text:gmatch("%S+") do
    if not empty and utf8.len(line) + 1 + utf8.len(word) > 80 then
      lines[#lines + 1], line, empty = line, rest, true
    end
    line = line .. (empty and "" or " ") .. word
    empty = false
  end
  lines[#lines + 1] = line
  return table.concat(lines, "\n") .. "\n"
end

-- Watts with the digits they deserve: at most a tenth of a milliwatt.
local function watts(value)
  if not value then return "-" end
  local size = math.abs(value)
  return (size >= 100 and "%.1f" or size >= 10 and "%.2f" or size >= 0.01 and "%.3f" or "%.4f"):format(value)
end

local function percent(value)
  return value and ("%.2f"):format(100 * value) or "-"
end

local function source_text(source)
  if source.frequency == 0 then return ("%.6g V dc"):format(source.voltage) end
  return ("%.6g V, %.6g Hz"):format(source.voltage, source.frequency)
end

local function point_text(point)
  local label = point.load == 0 and "none" or ("%.0f"):format(100 * point.load)
  if point.status ~= "solved" then
    return wrap(("no solution: %s"):format(point.reason or point.status), ("  %6s  "):format(label), (" "):rep(10))
  end
  return ("  %6s %12s %12s %12s %14s %14s\n"):format(label, watts(point.output), watts(point.input),
    watts(point.loss), percent(point.efficiency), ("%.3f"):format(point.power_factor))
end

local function run_text(run)
  local text = { ("%s\n  %6s %12s %12s %12s %14s %14s\n"):format(source_text(run), "load %", "output W", "input W",
    "lost W", "efficiency %", "power factor") }
  for _, point in ipairs(run.points) do text[#text + 1] = point_text(point) end
  local of = run.averaged < #law.average_loads and (" (of %d)"):format(run.averaged) or ""
  text[#text + 1] = ("  average of 25, 50, 75 and 100 %%: %s %%%s    no load: %s W\n"):format(percent(run.average), of,
    watts(run.no_load))
  return table.concat(text)
end

local requirement_row = "    %-26s %-8s %8s %7s %8s %s\n"

local function significant(value) return value and ("%.4g"):format(value) or "-" end

-- How figures of a unit are shown, and their margin.
local function shown_in(unit)
  if unit == "1" then return percent, function(margin) return ("%+.2f"):format(100 * margin) end, "%" end
  if unit == "W" then return watts, function(margin) return ("%+.3f"):format(margin) end, "W" end
  return significant, function(margin) return ("%+.3g"):format(margin) end, unit
end

local function requirement_text(r)
  local show, show_margin, unit = shown_in(r.unit)
  local text = requirement_row:format(r.what .. ", " .. unit, r.sense, show(r.required), show(r.found),
    r.margin and show_margin(r.margin) or "-", r.verdict)
  local formula = ""
  if r.formula:find(" P", 1, true) then
    formula = ("; %s = %.6g"):format(r.formula, r.required)
  elseif unit ~= "%" and unit ~= "W" and r.formula ~= "" then
    formula = "; " .. r.formula
  end
  return text .. wrap(r.clause .. formula, "      ", "      ")
end

local function law_text(entry)
  local text = { wrap(("%s: %s"):format(entry.verdict, entry.title), "  ", "    ") }
  local function say(line) text[#text + 1] = wrap(line, "    ", "    ") end
  if not entry.requirements then
    say(entry.reason)
    return table.concat(text)
  end
  local period = entry.from and ("; from %s"):format(entry.from) .. (entry.to and " to " .. entry.to or "") or ""
  local source = entry.source and ", " .. entry.source or ""
  say(("%d%s%s; tested at %s"):format(entry.year, source, period, source_text(entry.mains)))
  if entry.class_title then
    say(("class: %s"):format(entry.class_title) .. (entry.reason and ", for " .. entry.reason or ""))
  end
  text[#text + 1] = requirement_row:format("", "", "required", "found", "margin", "verdict")
  for _, requirement in ipairs(entry.requirements) do text[#text + 1] = requirement_text(requirement) end
  say("how well known: " .. entry.seen .. (entry.class_seen and "; this class: " .. entry.class_seen or "") .. ".")
  for _, note in ipairs(entry.notes or {}) do say("note: " .. note) end
  return table.concat(text)
end

local function head_text(found)
  local list = {}
  for i, port in ipairs(found.ports) do
    list[i] = ("%s %.6g V %.6g A"):format(port.port, port.voltage, port.current)
  end
  local text = wrap(("ports: %s; nameplate %.6g W"):format(table.concat(list, ", "), found.nameplate), "  ", "  ")
  if found.derating < 1 then
    text = text .. wrap(("The ports state %.6g W together, so every load is drawn down by %.4f."):format(found.stated,
      found.derating), "  ", "  ")
  end
  return found.design .. "\n" .. text
end

-- One row for each mains and load; a load without a solution has its reason instead of figures.
function efficiency.csv(found)
  local rows = { "mains_v,frequency_hz,load_percent,output_w,input_w,loss_w,efficiency,power_factor,reason\n" }
  local function cell(value) return value and ("%.10g"):format(value) or "" end
  for _, run in ipairs(found.runs) do
    for _, point in ipairs(run.points) do
      local reason = point.status ~= "solved" and (point.reason or point.status) or nil
      rows[#rows + 1] = table.concat({ cell(run.voltage), cell(run.frequency), cell(100 * point.load),
        cell(point.output),
        cell(point.input), cell(point.loss), cell(point.efficiency), cell(point.power_factor),
        reason and '"' .. reason:gsub("^[=+@-]", "'%0"):gsub('"', '""') .. '"' or "" }, ",") .. "\n"
    end
  end
  return table.concat(rows)
end

-- Everything found, as lines of at most 80 columns.
function efficiency.text(found)
  local text = { head_text(found) }
  for _, run in ipairs(found.runs) do text[#text + 1] = "\n" .. run_text(run) end
  text[#text + 1] = "\nlaws\n"
  for _, entry in ipairs(found.laws) do text[#text + 1] = law_text(entry) end
  if #found.laws == 0 then
    text[#text + 1] = "  none applies: they are for adapters fed by the mains, this one is fed by dc\n"
  end
  if #found.standards > 0 then
    text[#text + 1] = "\nstandards of the mains, at full load; they bind nobody here\n"
    for _, entry in ipairs(found.standards) do text[#text + 1] = law_text(entry) end
  end
  text[#text + 1] = "\n" .. wrap(found.caution, "", "")
  return table.concat(text)
end

return efficiency
