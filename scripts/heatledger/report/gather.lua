-- report.gather: every figure that a report shows, solved once; nothing here is text of a page.

local binding = require "heatledger.binding"
local efficiency = require "heatledger.efficiency"
local profile = require "heatledger.profile"

local gather = {}

local volts = { 90, 115, 230, 264 } -- ends and middles of the ranges that adapters are labelled with; common practice
local sweep_from, sweep_to, sweep_step = 90, 264, 6

local function with(settings, changes)
  local texts = {}
  for name, value in pairs(settings) do texts[name] = value end
  for name, value in pairs(changes) do texts[name] = value end
  return texts
end

local function at(design, settings, changes)
  local good, figures = pcall(design.point, design, with(settings, changes))
  if not good then return { status = "error", reason = tostring(figures) } end
  return figures
end

-- Efficiency over load at each mains voltage: { { voltage, points = { { load, efficiency } } } }.
local function over_load(design, settings)
  local runs = {}
  for i, voltage in ipairs(volts) do
    local run = { voltage = voltage, points = {} }
    for load = 5, 100, 5 do
      local figures = at(design, settings, { ["mains.voltage"] = ("%d V"):format(voltage), load = ("%g")
        :format(load / 100) })
      if figures.status == "solved" then run.points[#run.points + 1] = { load, 100 * figures.efficiency } end
    end
    runs[i] = run
  end
  return runs
end

-- Loss over mains voltage, in all and by stage.
local function over_mains(design, settings)
  local points = {}
  for voltage = sweep_from, sweep_to, sweep_step do
    local figures = at(design, settings, { ["mains.voltage"] = ("%d V"):format(voltage) })
    if figures.status == "solved" then
      points[#points + 1] = { voltage = voltage, loss = figures.loss, stages = figures.stages }
    end
  end
  return points
end

-- "label: name=value, name=value" -> label, { name = value }; the label may be left out.
local function variant(text)
  local label, rest = text:match "^%s*([^:=]-)%s*:%s*(.*)$"
  rest = rest or text
  local changes, n = {}, 0
  for piece in (rest .. ","):gmatch "%s*(.-)%s*," do
    if piece ~= "" then
      local name, value = piece:match "^([%w_%.]+)%s*=%s*(.+)$"
      if not name then
        error(("--what-if: '%s' is no NAME=VALUE; write it as in 'cool room: ambient.temperature=15 degC'")
          :format(piece), 0)
      end
      changes[name], n = value, n + 1
    end
  end
  if n == 0 then error(("--what-if: '%s' changes nothing; name a setting, as in load=0.5"):format(text), 0) end
  return label or rest, changes
end

local function what_ifs(design, settings, texts)
  local list = {}
  for i, text in ipairs(texts or {}) do
    local label, changes = variant(text)
    list[i] = { label = label, changes = changes, result = design:solve(with(settings, changes)) }
  end
  return list
end

-- From cold at the load of this point.
local function from_cold(design, settings)
  local texts = with(settings, {})
  texts.load = nil
  local steps = profile.of({ { duration = "3 h", load = settings.load or 1, settings = texts }, every = "2 min" },
    "from cold")
  local good, course = pcall(design.warm_up, design, steps)
  return good and course.status == "solved" and course or nil
end

-- Bands and what drives the answers: nil when nothing has a band, or samples is 0.
local function how_sure(design, settings, samples)
  if samples < 2 then return nil end
  local good, spread = pcall(binding.spread, design, { samples = samples, settings = settings })
  if not good then return nil, tostring(spread) end
  spread.by_name = {}
  for _, figure in ipairs(spread.figures) do spread.by_name[figure.figure] = figure end
  return spread
end

-- options: settings = { name = text }, nameplate, what_if = { text, ... }, samples
function gather.of(design, options)
  local settings = options.settings or {}
  local found = { description = design:description(), settings = settings, values = design:values(settings) }
  found.result = design:solve(with(settings, {}))
  found.fed_by_mains = found.values["mains.frequency"] > 0
  if found.result.status ~= "solved" then return found end
  found.course = from_cold(design, settings)
  found.spread, found.spread_reason = how_sure(design, settings, options.samples or 400)
  found.what_if = what_ifs(design, settings, options.what_if)
  local own = with(settings, {})
  for _, name in ipairs { "load", "mains.voltage", "mains.frequency" } do own[name] = nil end
  if found.fed_by_mains then
    found.over_load = over_load(design, own)
    found.over_mains = over_mains(design, with(own, { load = settings.load }))
  end
  local good, laws = pcall(efficiency.of, design, { settings = own, nameplate = options.nameplate })
  found.efficiency = good and laws or nil
  found.efficiency_reason = not good and tostring(laws) or nil
  return found
end

return gather
