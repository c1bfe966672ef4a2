-- report.chart: curves drawn by gnuplot as SVG with real text, then cleaned for a page: inherited text colour,
-- series colours from the page's style sheet (so light, dark and print each have their own), no scripts.

local page = require "heatledger.report.page"

local chart = {}

-- Colours that stand for names until the SVG is cleaned.
local ink, rule = "#020202", "#030303"
local function series_colour(i) return ("#0a00%02x"):format(i) end

local dashes = { "1", "(12,5)", "(3,4)", "(12,4,3,4)", "(6,3)" }
local points = { 7, 5, 9, 13, 11 }

-- Text inside gnuplot's double quotes: nothing of it is a command, a format or a mark-up.
local function quoted(text)
  text = text:gsub("[%c\\\"`$@~{}^_&#]", function(c)
    if c == "_" or c == "^" or c == "@" or c == "&" or c == "~" or c == "{" or c == "}" then return "\\\\" .. c end
    return c == '"' and "'" or " "
  end)
  return '"' .. text .. '"'
end

-- { x_title, y_title, series = { { title, points = { { x, y }, ... }, marks = bool, line = bool } }, x_from, x_to,
-- y_from, y_to }
-- as commands for gnuplot that write one SVG to its output.
function chart.commands(spec)
  local out = {
    'set terminal svg size 460,300 dynamic font "sans-serif,12"',
    "set encoding utf8",
    "set key below samplen 2.4 spacing 1.15 height 0.6",
    "set border 3 lc rgb '" .. ink .. "'",
    "set tics nomirror",
    "set grid lc rgb '" .. rule .. "'",
    ("set offsets 0, 0, graph 0.04, %s"):format(spec.y_from and "0" or "graph 0.04"),
    "set xlabel " .. quoted(spec.x_title) .. " offset 0,0.5",
    "set ylabel " .. quoted(spec.y_title),
  }
  if spec.x_from then out[#out + 1] = ("set xrange [%g:%g]"):format(spec.x_from, spec.x_to) end
  if spec.y_from or spec.y_to then
    out[#out + 1] = ("set yrange [%s:%s]"):format(spec.y_from or "*", spec.y_to or "*")
  end
  local plots = {}
  for i, series in ipairs(spec.series) do
    local rows = {}
    for k, point in ipairs(series.points) do rows[k] = ("%.6g %.6g"):format(point[1], point[2]) end
    out[#out + 1] = ("$series%d << END_OF_SERIES\n%s\nEND_OF_SERIES"):format(i, table.concat(rows, "\n"))
    local style = series.line == false and "points" or (series.marks and "linespoints" or "lines")
    plots[i] = ("$series%d using 1:2 with %s lw 2 dt %s pt %d ps 0.55 lc rgb '%s' title %s"):format(i, style,
      dashes[(i - 1) % #dashes + 1], points[(i - 1) % #points + 1], series_colour(i), quoted(series.title))
    if style == "points" then plots[i] = plots[i]:gsub("lw 2 dt %S+ ", ""):gsub("ps 0.55", "ps 0.9") end
  end
  out[#out + 1] = "plot " .. table.concat(plots, ", \\\n  ")
  return table.concat(out, "\n") .. "\n"
end

-- gnuplot's SVG as part of a page: `id` is unlike any other picture's.
function chart.clean(svg, id, title)
  svg = svg:gsub("^.-<svg", "<svg", 1)
  svg = svg:gsub("<title>.-</title>", "", 1):gsub("<desc>.-</desc>", "", 1)
  svg = svg:gsub("<filter.-</filter>", ""):gsub("<script.-</script>", "")
  svg = svg:gsub("rgb%(%s*10,%s*0,%s*(%d+)%)", "var(--series-%1)")
  svg = svg:gsub("rgb%(%s*2,%s*2,%s*2%)", "currentColor"):gsub("rgb%(%s*3,%s*3,%s*3%)", "var(--rule)")
  svg = svg:gsub('color="black"', 'color="currentColor"'):gsub('color="gray"', 'color="var(--rule)"')
  svg = svg:gsub("<g [^>]*>%s*</g>", "")
  svg = svg:gsub("xlink:href='#gp", ("xlink:href='#%s-gp"):format(id)):gsub("id='gp", ("id='%s-gp"):format(id))
  svg = svg:gsub('id="gnuplot_', ('id="%s-'):format(id))
  svg = svg:gsub('fill="black"', 'fill="currentColor"')
  return (svg:gsub("<svg", ('<svg class="chart" role="img" aria-labelledby="%s-title"'):format(id), 1)
    :gsub(">", (('><title id="%s-title">%s</title>'):format(id, page.text(title)):gsub("%%", "%%%%")), 1))
end

local function is_empty(spec)
  for _, series in ipairs(spec.series) do
    if #series.points > 0 then return false end
  end
  return true
end

-- Of rows that show the same figures, one after another, the first and the last; and whether any was left out.
local function without_repeats(rows)
  local kept = {}
  for k, row in ipairs(rows) do
    local before, after = rows[k - 1], rows[k + 1]
    local same = before ~= nil and after ~= nil
    for i = 2, #row do same = same and before[i] == row[i] and after[i] == row[i] end
    if not same then kept[#kept + 1] = row end
  end
  return kept, #kept < #rows
end

-- One chart as a figure, its table's figures in the format spec.shown: `draw` runs gnuplot, or is nil where there is
-- none; then the table stands alone.
function chart.figure(draw, id, spec)
  if is_empty(spec) then return page.paragraph(spec.title .. ": no point on the way has a solution.") end
  local columns, rows, by_x, order = { { spec.x_title } }, {}, {}, {}
  for i, series in ipairs(spec.series) do
    columns[i + 1] = { series.title, number = true }
    for _, point in ipairs(series.points) do
      local key = ("%.6g"):format(point[1])
      if not by_x[key] then
        by_x[key] = { x = point[1] }
        order[#order + 1] = by_x[key]
      end
      by_x[key][i] = (spec.shown or "%.4g"):format(point[2])
    end
  end
  table.sort(order, function(a, b) return a.x < b.x end)
  for k, entry in ipairs(order) do
    rows[k] = { ("%.4g"):format(entry.x) }
    for i = 1, #spec.series do rows[k][i + 1] = entry[i] or "" end
  end
  local shorter
  rows, shorter = without_repeats(rows)
  local figures = page.table(("%s over %s%s"):format(spec.y_title, spec.x_title,
    shorter and "; rows alike are left out" or ""), columns, rows)
  local svg = draw and draw(chart.commands(spec))
  if not svg then return figures end
  return page.figure(chart.clean(svg, id, spec.title), spec.title, figures)
end

return chart
