-- report: an adapter's report as one HTML file that opens offline: pictures, and a table behind each.
--
--   local html = require "heatledger.report".html(design, { settings = {}, draw = run_gnuplot, date = "2030-01-31" })

local case_map = require "heatledger.report.case_map"
local chart = require "heatledger.report.chart"
local flow = require "heatledger.report.flow"
local gather = require "heatledger.report.gather"
local key_figures = require "heatledger.report.key_figures"
local law_section = require "heatledger.report.law_section"
local number = require "heatledger.report.number"
local page = require "heatledger.report.page"
local ranked = require "heatledger.report.ranked"
local style = require "heatledger.report.style"
local sure_section = require "heatledger.report.sure_section"
local unsolved = require "heatledger.report.unsolved"

local report = {}

local cautions = {
  "Mains voltage and charged capacitors kill. An opened adapter is not isolated: unplug it, discharge it, and " ..
    "verify with "
    .. "a meter before touching anything.",
  "The figures here are computed. They replace neither measurement nor a safety assessment.",
  "Local codes and qualified people decide.",
}

-- ----------------------------------------------------------------- figures --

-- Loss by part and mechanism, falling: { name, loss, mechanisms = { { name, loss, warms = another part or nil } } }.
local function losses(result)
  local by_name, list = {}, {}
  for _, entry in ipairs(result.ledger) do
    local name = entry.mechanism == "other" and entry.stage or entry.stage .. "." .. entry.part
    local part = by_name[name]
    if not part then
      part = { name = name, loss = 0, mechanisms = {}, what = entry.mechanism == "other" and entry.part or nil }
      by_name[name] = part
      list[#list + 1] = part
    end
    part.loss = part.loss + entry.loss_w
    part.mechanisms[#part.mechanisms + 1] = { name = entry.mechanism, loss = entry.loss_w,
      warms = entry.warms ~= name and entry.warms or nil }
  end
  table.sort(list, function(a, b)
    if a.loss ~= b.loss then return a.loss > b.loss end
    return a.name < b.name
  end)
  return list
end

-- The five greatest mechanisms have a colour of their own, the rest share one.
local function mechanism_colours(list)
  local total, order = {}, {}
  for _, part in ipairs(list) do
    for _, mechanism in ipairs(part.mechanisms) do
      if not total[mechanism.name] then order[#order + 1] = mechanism.name end
      total[mechanism.name] = (total[mechanism.name] or 0) + mechanism.loss
    end
  end
  table.sort(order, function(a, b)
    if total[a] ~= total[b] then return total[a] > total[b] end
    return a < b
  end)
  local class = {}
  for i, name in ipairs(order) do class[name] = "m" .. math.min(i, 6) end
  return class, order, total
end

-- ---------------------------------------------------------------- sections --

local function operating_point(found)
  local values = found.values
  local words = {}
  if found.fed_by_mains then
    words[1] = ("%.4g V, %.4g Hz mains"):format(values["mains.voltage"], values["mains.frequency"])
  else
    words[1] = ("%.4g V dc supply"):format(values["mains.voltage"])
  end
  words[#words + 1] = ("load %s"):format(number.percent(values.load))
  words[#words + 1] = ("ambient %s"):format(number.celsius(values["ambient.temperature"] - 273.15))
  return table.concat(words, ", ")
end

local function flow_section(found)
  local rows, power = {}, found.result.power
  local between = power.loss_w -- what stages do not book: the capacitors on the buses behind them
  for i, stage in ipairs(found.result.stages) do
    between = between - (stage.input_w - stage.output_w)
    rows[i] = { page.name(stage.stage) .. ('<span class="what">%s</span>'):format(page.text(
      found.description.stages[i].title)), number.watts(stage.input_w), number.watts(stage.output_w),
      number.watts(stage.input_w - stage.output_w) }
  end
  if between > 5e-5 then rows[#rows + 1] = { "capacitors on the buses", "", "", number.watts(between) } end
  rows[#rows + 1] = { "all", number.watts(power.input_w), number.watts(power.output_w), number.watts(power.loss_w) }
  local figures = page.table("Power through each stage", { { "stage" }, { "in", number = true },
    { "out", number = true },
    { "lost", number = true } }, rows)
  return page.section("flow", "Where the watts go", page.figure(flow.picture(found.description, found.result),
    "From the mains to the ports: widths are in proportion to power, losses leave to the right, those of the " ..
    "capacitors on a bus with the stage that feeds it.", figures, "paper"))
end

local function loss_section(found)
  local list = losses(found.result)
  local class, order, total = mechanism_colours(list)
  local legend, rows = {}, {}
  for i, name in ipairs(order) do
    if i <= 5 then
      legend[i] = ('<li><span class="bar"><i class="m%d"></i></span>%s, %s</li>'):format(i, page.text(name),
        page.text(number.watts(total[name])))
    end
  end
  if #order > 5 then legend[6] = '<li><span class="bar"><i class="m6"></i></span>the others</li>' end
  local most = list[1] and list[1].loss or 1
  for i, part in ipairs(list) do
    local parts, words = {}, {}
    table.sort(part.mechanisms, function(a, b) return a.loss > b.loss end)
    for k, mechanism in ipairs(part.mechanisms) do
      parts[k] = { class = class[mechanism.name], share = mechanism.loss / most }
      words[k] = ("%s %s%s"):format(mechanism.name == "other" and (part.what or "other") or mechanism.name,
        number.watts(mechanism.loss), mechanism.warms and (" (warms %s)"):format(mechanism.warms) or "")
    end
    local told = table.concat(words, ", ")
    rows[i] = { page.name(part.name), page.text(number.watts(part.loss)),
      page.bar(parts, told) .. ('<span class="what">%s</span>'):format(page.text(told)) }
  end
  return page.section("losses", "Loss by part and mechanism", '<ul class="legend">' .. table.concat(legend) .. "</ul>",
    page.long_table("Every booked watt, the greatest first", { { "part" }, { "lost", number = true },
      { "by mechanism" } },
      rows, 14, "parts"))
end

-- The temperature limit of a part, if it states one.
local function heat_limit(part)
  for _, limit in ipairs(part.headroom) do
    if limit.limit == "temperature" then return limit end
  end
end

-- Lowest and highest of nine cases in ten, or nil; without the highest where that has no solution.
local function band_of(found, figure)
  local entry = found.spread and found.spread.by_name[figure]
  if not entry or not entry.quantiles[1] then return nil end
  return { low = entry.quantiles[1], high = entry.quantiles[#found.spread.quantiles] }
end

local function temperature_section(found)
  local parts, rows = {}, {}
  for i, part in ipairs(found.result.parts) do parts[i] = part end
  table.sort(parts, function(a, b)
    if a.temperature_c ~= b.temperature_c then return a.temperature_c > b.temperature_c end
    return ranked.name(a) < ranked.name(b)
  end)
  for i, part in ipairs(parts) do
    local limit = heat_limit(part)
    local told, bar = "no limit stated", ""
    local band = band_of(found, "temperature " .. ranked.name(part))
    if limit then
      local used, ambient = limit.used or math.huge, found.values["ambient.temperature"] - 273.15
      told = used < math.huge and ("%s of the rise to %s"):format(number.percent(used), number.celsius(limit.rated))
        or ("the room alone is above %s"):format(number.celsius(limit.rated))
      local class = used > 1 and "m2" or "m1"
      if band and used < 1 then
        local low = (band.low - ambient) / (limit.rated - ambient)
        local high = band.high and (band.high - ambient) / (limit.rated - ambient) or math.max(1, low)
        bar = page.bar({ { class = class, share = low }, { class = class .. " may", share = high - low } }, told)
      else
        bar = page.bar({ { class = class, share = used } }, told)
      end
    end
    if band and band.high then
      told = ("%s; nine cases in ten: %.1f to %s"):format(told, band.low, number.celsius(band.high, 1))
    elseif band then
      told = ("%s; nine cases in ten: %s to %s"):format(told, number.celsius(band.low, 1), unsolved.word(found.spread))
    end
    rows[i] = { page.name(ranked.name(part)), number.celsius(part.temperature_c),
      bar .. ('<span class="what">%s</span>'):format(page.text(told)) }
  end
  return page.section("temperatures", "Temperature of each part against its limit",
    page.long_table("The hottest first; a full bar is a part at its limit", { { "part" }, { "at", number = true },
      { "of the allowed rise above ambient" } }, rows, 14, "parts"))
end

local function case_section(found)
  local faces, box = case_map.faces(found.result), found.description.box
  if not faces or not box then
    return page.section("case", "The case",
      page.paragraph("The script describes no case, so nothing is said of its faces."))
  end
  local rows, any = {}, nil
  for _, face in ipairs { "x0", "x1", "y0", "y1", "z0", "z1" } do
    local figures = faces[face]
    if figures then
      any = any or figures.maximum
      rows[#rows + 1] = { page.text(face .. (face == box.up and ", looks up" or "")),
        number.celsius(figures.mean), figures.maximum and number.celsius(figures.maximum) }
    end
  end
  local name, most = case_map.hottest(faces)
  local caption = ("The case unfolded: x0 is the wall where x is 0, x1 the one across. Light is cool, dark is hot. "
    .. "Hottest: face %s, %s%s."):format(name, number.celsius(most),
    any and "" or " (mean of the face; its hottest spot is hotter: --network field finds it)")
  return page.section("case", "The case", page.figure(case_map.picture(box, faces,
    found.values["ambient.temperature"] - 273.15), caption, page.table("Temperature of the faces", { { "face" },
      { "mean", number = true }, any and { "hottest spot", number = true } or nil }, rows)))
end

local function load_chart(found, draw)
  local spec = { title = "Efficiency over load at each mains voltage",
    x_title = "load, % of the ports' stated currents",
    y_title = "efficiency, %", x_from = 0, x_to = 100, series = {} }
  for _, run in ipairs(found.over_load) do
    if #run.points > 1 then
      spec.series[#spec.series + 1] = { title = ("%d V"):format(run.voltage), points = run.points }
    end
  end
  for _, law in ipairs(found.efficiency and found.efficiency.laws or {}) do
    for _, requirement in ipairs(law.requirements or {}) do
      if law.binding and requirement.unit ~= "W" and requirement.what:find "average" then
        local level = 100 * requirement.required
        spec.series[#spec.series + 1] = { title = "law: average", points = { { 25, level },
          { 50, level }, { 75, level }, { 100, level } }, marks = true }
        return chart.figure(draw, "over-load", spec)
      end
    end
  end
  return chart.figure(draw, "over-load", spec)
end

local function mains_chart(found, draw)
  local points, total = found.over_mains, {}
  for _, point in ipairs(points) do
    for stage, loss in pairs(point.stages) do total[stage] = math.max(total[stage] or 0, loss) end
  end
  local order = {}
  for stage in pairs(total) do order[#order + 1] = stage end
  table.sort(order, function(a, b)
    if total[a] ~= total[b] then return total[a] > total[b] end
    return a < b
  end)
  local spec = { title = "Loss over mains voltage, in all and of the stages that lose most", x_title = "mains, V",
    y_title = "lost, W", x_from = 80, x_to = 270, y_from = 0, series = { { title = "in all", points = {} } } }
  for _, point in ipairs(points) do
    spec.series[1].points[#spec.series[1].points + 1] = { point.voltage, point.loss }
  end
  for i = 1, math.min(4, #order) do
    local series = { title = order[i], points = {} }
    for k, point in ipairs(points) do series.points[k] = { point.voltage, point.stages[order[i]] } end
    spec.series[i + 1] = series
  end
  return chart.figure(draw, "over-mains", spec)
end

local function curve_section(found, draw)
  if not found.over_load then return "" end
  return page.section("curves", "Over load and over mains voltage",
    '<div class="pair">' .. load_chart(found, draw) .. mains_chart(found, draw) .. "</div>")
end

local function course_section(found, draw)
  local course = found.course
  if not course then return "" end
  local last = course.rows[#course.rows].temperature_c
  local order = {}
  for i, node in ipairs(course.nodes) do
    if not node:find "inside$" and not node:find "^face" and not node:find " air$" then order[#order + 1] = i end
  end
  table.sort(order, function(a, b)
    if last[a] ~= last[b] then return last[a] > last[b] end
    return a < b
  end)
  local chosen = { order[1], order[2], order[3] }
  local face
  for i, node in ipairs(course.nodes) do
    if node:find "^face" and not node:find "inside$" and (not face or last[i] > last[face]) then face = i end
  end
  if face then chosen[#chosen + 1] = face end
  local spec = { title = "Warm-up from cold: the hottest parts and the hottest face", x_title = "time, min",
    y_title = "temperature, °C", x_from = 0, x_to = course.rows[#course.rows].time_s / 60, series = {},
    shown = "%.1f" }
  for i, node in ipairs(chosen) do
    local series = { title = course.nodes[node], points = {} }
    for k, row in ipairs(course.rows) do series.points[k] = { row.time_s / 60, row.temperature_c[node] } end
    spec.series[i] = series
  end
  local rows = {}
  for i, node in ipairs(chosen) do
    local row, from = { page.name(course.nodes[node]) }, course.rows[1].temperature_c[node]
    for k, share in ipairs { 0.5, 0.9, 0.99 } do
      for _, entry in ipairs(course.rows) do
        if entry.temperature_c[node] - from >= share * (last[node] - from) then
          row[k + 1] = ("%.0f min"):format(entry.time_s / 60)
          break
        end
      end
    end
    rows[i] = row
  end
  local columns = { { "of its rise" }, { "50 %", number = true }, { "90 %", number = true }, { "99 %", number = true } }
  return page.section("warm-up", "Warm-up", '<div class="pair">' .. chart.figure(draw, "warm-up", spec) .. "<div>"
    .. page.table("How long it takes from cold", columns, rows) .. "</div></div>")
end

-- What is hottest and what gives way first stand below the label: a phone has no room for a column of names.
local function what_if_row(label, result)
  local pieces = {}
  local function say(words, bad)
    pieces[#pieces + 1] = (bad and '<span class="bad">%s</span>' or "%s"):format(page.name(words))
  end
  local function labelled()
    return page.text(label) .. ('<span class="what">%s</span>'):format(table.concat(pieces, "; "))
  end
  if result.status ~= "solved" then
    say("no solution: " .. result.reason, true)
    return { labelled(), "-", "-", "-" }
  end
  local faces, part, first = case_map.faces(result), ranked.hottest_part(result), ranked.limits(result)[1]
  if part then say(("hottest part %s, %s"):format(number.celsius(part.temperature_c), ranked.name(part))) end
  if first then say(("first to give way %s, %s"):format(first.who, ranked.used(first.used)), first.broken) end
  local most = faces and select(2, case_map.hottest(faces))
  return { labelled(), number.percent(result.power.efficiency, 2),
    number.watts(result.power.loss_w), number.celsius(most) }
end

local function what_if_section(found)
  if #found.what_if == 0 then return "" end
  local rows = { what_if_row("as it is", found.result) }
  for i, variant in ipairs(found.what_if) do rows[i + 1] = what_if_row(variant.label, variant.result) end
  local faces, caption = case_map.faces(found.result), "Each with its settings changed, all else as above"
  if faces then
    caption = caption .. "; case: its " .. (select(3, case_map.hottest(faces)) and "hottest face, mean" or "hot spot")
  end
  return page.section("what-if", "What if", page.table(caption,
    { { "what" }, { "efficiency", number = true }, { "lost", number = true }, { "case", number = true } }, rows))
end

local function headroom_section(found)
  local rows = {}
  for i, entry in ipairs(ranked.limits(found.result)) do
    rows[i] = { page.name(entry.who) .. ('<span class="what">%s</span>'):format(page.text(entry.limit)),
      page.text(number.with_unit(entry.value, entry.unit)), page.text(number.with_unit(entry.rated, entry.unit)),
      ('<span class="%s">%s</span>'):format(entry.broken and "bad" or "", page.text(number.used(entry.used))) }
  end
  return page.section("headroom", "What gives way first", page.long_table("Headroom, the least first",
    { { "part or face, and limit" },
    { "value", number = true }, { "rated", number = true }, { "used", number = true } }, rows, 12, "limits"))
end

local function input_section(found)
  local origins = { "marking", "datasheet", "bench", "stated", "estimate" }
  local rows, count = {}, {}
  for _, input in ipairs(found.description.inputs) do
    count[input.origin] = (count[input.origin] or 0) + 1
    rows[input.origin] = rows[input.origin] or {}
    table.insert(rows[input.origin], { page.name(input.owner .. "." .. input.name) .. ('<span class="what">%s</span>')
      :format(page.text(input.meaning)), page.text(input.text) })
  end
  local out, words = {}, {}
  for _, origin in ipairs(origins) do
    if count[origin] then
      words[#words + 1] = (origin == "stated" and "%d stated without an origin" or "%d from %s"):format(count[origin],
        origin)
    end
  end
  out[1] = page.paragraph(("Values behind this report: %s. An estimate is a class's usual figure, used because " ..
    "the part "
    .. "states none."):format(table.concat(words, ", ")))
  for _, origin in ipairs(origins) do
    if rows[origin] then
      local title = origin == "stated" and "Values stated without an origin" or "Values with origin " .. origin
      out[#out + 1] = page.details(("%d values: %s"):format(count[origin],
        origin == "stated" and "stated, no origin named" or origin),
        page.table(title, { { "value of" }, { "is", number = true } }, rows[origin]))
    end
  end
  return page.section("inputs", "Inputs and where they came from", table.concat(out))
end

local function note_section(found)
  local result = found.result
  local notes = {}
  for i, warning in ipairs(result.warnings) do notes[i] = warning end
  notes[#notes + 1] = ("The books close: power is off by %.1e W, heat by %.1e W."):format(
    math.abs(result.books.power_imbalance_w), math.abs(result.books.heat_imbalance_w))
  notes[#notes + 1] = ("Thermal feedback gain: %.2f. The losses add so much to each kelvin; at 1 it would run away.")
    :format(result.feedback_gain)
  return page.section("notes", "Notes", page.list(notes))
end

-- -------------------------------------------------------------------- page --

local function frame(title, body)
  return table.concat { '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">',
    '<meta name="viewport" content="width=device-width, initial-scale=1"><title>', page.text(title),
      "</title><style>", style,
    "</style></head>\n<body>\n", body, "</body></html>\n" }
end

-- options: settings = { name = text }, nameplate, what_if = { text, ... }, samples (400; 0: say nothing of how sure),
-- draw = function(gnuplot commands) -> SVG, date = text.
-- A point without a solution makes a page that says so and why.
function report.html(design, options)
  local found = gather.of(design, options)
  local name = found.description.name
  local head = ("<header><h1>%s</h1><p>%s%s</p></header>\n<main>")
    :format(page.text(name), page.text(operating_point(found)),
    options.date and page.text(". Made on " .. options.date .. ".") or "")
  local caution = page.paragraph(table.concat(cautions, " "), "caution")
  if found.result.status ~= "solved" then
    return frame(name, head .. page.paragraph(("No solution (%s): %s"):format(found.result.status, found.result.reason),
      "bad") .. caution .. "</main>"), found
  end
  local draw = options.draw
  return frame(name, table.concat({ head, key_figures(found), caution, flow_section(found),
    '<div class="pair"><div>', loss_section(found), "</div><div>", temperature_section(found), "</div></div>",
    case_section(found), curve_section(found, draw), course_section(found, draw),
    what_if_section(found), headroom_section(found), sure_section(found), law_section(found), input_section(found),
    note_section(found), "</main>" }, "\n")), found
end

return report
