-- Calls that are wrong, each in one way, with a piece of what must be said.  Returns the adapter when all were told.
local hl = require "heatledger"
local s = hl.statistics
local a = hl.adapter "bench"
a:supply { voltage = "12 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1.5 W" }

local function one(x) return x end
local normal = { { "normal", 5, 1 } }
local free, read = { { start = 1, low = 0, high = 9 } }, { { value = 3, u = 0.1 } }

-- Statements are judged together, when the adapter is finished.
local function described(statement)
  return function()
    local d = hl.adapter "described"
    d:supply { voltage = "12 V" }
    d:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1.5 W" }
    statement(d)
    d:finish()
  end
end

local cases = {
  -- settings of a point
  { "settings are named", function() a:finish():solve { "115 V" } end },
  { "no setting", function() a:finish():solve { ["consumer.powr"] = "1 W" } end },
  { "a voltage", function() a:finish():point { ["consumer.power"] = "1 V" } end },
  { "is no end of a band", function() a:solve { bands = "middling" } end },
  { "is no end of a band", function() a:solve { bands = {} } end },
  { "table expected", function() a:finish():values "115 V" end },
  -- the whole adapter
  { "model", described(function(d) d:stage "more" { fed_by = "source" } end) },
  { "mains", described(function(d) d:mains { voltage = "230 A", frequency = "50 Hz" } end) },
  { "volts", described(function(d) d:supply { volts = "12 V" } end) },
  { "5 V is a voltage", described(function(d) d:node "x" { capacity = "5 V" } end) },
  { "", described(function(d) d:link { "x" } end) },
  { "", described(function(d) d:box { size = "10 mm" } end) },
  { "", described(function(d) d:board "b" { thickness = "1 V" } end) },
  { "", described(function(d) d:place "consumer" { at = 3 } end) },
  { "", described(function(d) d:limit { node = "consumer", temperature = "5 V" } end) },
  { "", described(function(d) d:derating { voltage = "120 %" } end) },
  { "", described(function(d) d:insulation { class = 3 } end) },
  { "", described(function(d) d:profile "p" {} end) },
  { "", function() hl.parts { "nowhere.yaml" } end },
  { "", function() hl.parts { "../../../etc/passwd" } end },
  -- spread, fit, warm-up
  { "a count is not negative", function() hl.spread(a, { samples = -1 }) end },
  { "percent, 0 to 100", function() hl.spread(a, { quantiles = { 101 } }) end },
  { "number expected", function() hl.spread(a, { quantiles = { "half" } }) end },
  { "settings are named", function() hl.spread(a, { settings = { "1 W" } }) end },
  { "no setting", function() hl.spread(a, { settings = { nothing = "1 W" } }) end },
  { "no figure is named", function() hl.spread(a, { about = { "weather" } }) end },
  { "table expected", function() hl.spread(a, 3) end },
  { "lies outside the script's folder", function() hl.fit(a, "/etc/passwd") end },
  { "lies outside the script's folder", function() hl.fit(a, "../misuse.lua") end },
  { "", function() hl.fit(a, "nowhere.yaml") end },
  { "no setting", function() a:critical("nothing", 3) end },
  { "a profile has 1 to", function() a:finish():warm_up {} end },
  { "table expected", function() a:finish():warm_up(3) end },
  -- statistics
  { "is no shape; did you mean normal", function() s.sample(one, { inputs = { { "normall", 1, 1 } } }) end },
  { "is no shape", function() s.sample(one, { inputs = { {} } }) end },
  { "inputs = {", function() s.sample(one, {}) end },
  { "inputs: 1 to", function() s.sample(one, { inputs = {} }) end },
  { "each is { shape, numbers }", function() s.sample(one, { inputs = { 3 } }) end },
  { "make no normal distribution", function() s.sample(one, { inputs = { { "normal", 1, -1 } } }) end },
  { "make no uniform distribution", function() s.sample(one, { inputs = { { "uniform", 2, 1 } } }) end },
  { "function expected", function() s.sample(3, { inputs = normal }) end },
  { "table expected", function() s.sample(one, 3) end },
  { "outputs: 1 to", function() s.sample(one, { inputs = normal, outputs = 0 }) end },
  { "sample: 'sample' means nothing here; did you mean 'samples'? Known: inputs, samples", function()
    s.sample(one, { inputs = normal, sample = 10 })
  end },
  { "values: 'star' means nothing here; did you mean 'start'? Known: start, low", function()
    s.least_squares(one, { values = { { star = 1 } }, readings = read })
  end },
  { "misuse.lua:", function() a:efficiency { nameplates = "1 W" } end },
  { "efficiency: 'nameplates' means nothing here; did you mean 'nameplate'?", function()
    a:efficiency { nameplates = "1 W" }
  end },
  { "a material table needs", described(function(d) d:box { size = "1 x 1 x 1 cm", material = {} } end) },
  { "'colour' means nothing here", described(function(d)
    d:box { size = "1 x 1 x 1 cm",
      material = { conductivity = 1, density_heat = 1, emissivity = 1, colour = 2 } }
  end) },
  { "kept", function() s.sample(function() error "kept" end, { inputs = normal, samples = 10 }) end },
  { "not a correlation matrix", function()
    s.sample(function(x, y) return x + y end,
      { inputs = { { "normal", 0, 1 }, { "normal", 0, 1 } }, samples = 50, correlations = { { 1, 2 }, { 2, 1 } } })
  end },
  { "as many uncertainties", function() s.combine(one, { x = { 1 }, u = { 1, 2 } }) end },
  { "freedom: one number", function() s.combine(one, { x = { 1 }, u = { 1 }, freedom = { 1, 2 } }) end },
  { "rows of", function() s.combine(one, { x = { 1 }, u = { 1 }, correlations = { 1 } }) end },
  { "kept", function() s.combine(function() error "kept" end, { x = { 1 }, u = { 1 } }) end },
  { "", function() s.combine(function() return "text" end, { x = { 1 }, u = { 1 } }) end },
  { "inputs", function() s.indices(one, {}) end },
  { "kept", function() s.indices(function() error "kept" end, { inputs = normal, base = 8 }) end },
  { "values: an array of tables", function() s.least_squares(one, {}) end },
  { "values: 1 to", function() s.least_squares(one, { values = {} }) end },
  { "values: { start=", function() s.least_squares(one, { values = { 3 }, readings = read }) end },
  { "readings: an array", function() s.least_squares(one, { values = free }) end },
  { "readings: { value=", function() s.least_squares(one, { values = free, readings = { 3 } }) end },
  { "kept", function() s.least_squares(function() error "kept" end, { values = free, readings = read }) end },
  { "no fit", function() s.least_squares(function() return 3 end, { values = free, readings = read }) end },
  { "no fit", function() s.least_squares(function() return { "x" } end, { values = free, readings = read }) end },
  { "", function() s.student_quantile("half", 3) end },
  -- what a script may use of the language
  { "", function() hl.quantity("12 V", "A") end },
  { "", function() hl.quantity({}, "A") end },
  { "__gc is not open to scripts", function() setmetatable({}, { __gc = one }) end },
  { "", function() coroutine.create(3) end },
}

local wrong = {}
for i, case in ipairs(cases) do
  local good, said = pcall(case[2])
  said = tostring(said)
  if good then
    wrong[#wrong + 1] = ("%d (%s): nothing was said"):format(i, case[1])
  elseif #said < 4 or not said:find(case[1], 1, true) then
    wrong[#wrong + 1] = ("%d (%s): %s"):format(i, case[1], said)
  end
end

-- What these leave to a script works: handlers, chunks of text, coroutines.
local handled, said = xpcall(function() error "kept" end, function(e) return "handled " .. e end)
if handled or not said:find("^handled ") then wrong[#wrong + 1] = "xpcall: " .. tostring(said) end
local chunk = load("return x", "chunk", "t", { x = 7 })
if not chunk or chunk() ~= 7 then wrong[#wrong + 1] = "load" end
local none, why = load "return ("
if none or not why then wrong[#wrong + 1] = "load of half a chunk" end
local thread = coroutine.create(function() coroutine.yield(1) coroutine.yield(2) end)
local _, first = coroutine.resume(thread)
local _, second = coroutine.resume(thread)
if first + second ~= 3 then wrong[#wrong + 1] = "coroutines" end
if #table.move({ 1, 2, 3 }, 1, 3, 2) ~= 4 then wrong[#wrong + 1] = "table.move" end

if #wrong > 0 then error(table.concat(wrong, "\n"), 0) end
local good = hl.adapter "good"
good:supply { voltage = "12 V" }
good:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1.5 W" }
return good
