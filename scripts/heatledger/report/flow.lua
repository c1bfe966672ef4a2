-- report.flow: the watt-flow picture, from the mains to the ports; losses branch off at their stage.
--
-- One row a stage, parents above children, the stage with the most power leftmost.  A row's loss leaves to the
-- right, where no other stream passes, since streams to the right have ended above it.

local number = require "heatledger.report.number"
local page = require "heatledger.report.page"

local flow = {}

local width, stream_room, label_at, row_height, gap = 460, 205, 232, 34, 14
local thinnest = 1.2 -- a stream that carries little still shows

-- ------------------------------------------------------------------- tree --

-- { name, kind = "stage" | "port", input, output, loss, children } with children by falling power.
local function build(description, result)
  local by_name, roots = {}, {}
  for i, stage in ipairs(description.stages) do
    local solved = result.stages[i]
    by_name[stage.stage] = { name = stage.stage, title = stage.title, kind = "stage", input = solved.input_w,
      output = solved.output_w, loss = solved.input_w - solved.output_w, children = {} }
  end
  for _, stage in ipairs(description.stages) do
    local list = stage.fed_by and by_name[stage.fed_by].children or roots
    list[#list + 1] = by_name[stage.stage]
  end
  for _, port in ipairs(result.ports or {}) do
    local list = by_name[port.stage].children
    list[#list + 1] = { name = port.port, kind = "port", input = port.power_w, output = port.power_w, loss = 0,
      children = {} }
  end
  -- What leaves a stage and reaches nobody is lost in the capacitors on its bus.
  for _, node in pairs(by_name) do
    local taken = 0
    for _, child in ipairs(node.children) do taken = taken + child.input end
    if taken > 0 then node.loss = node.input - taken end
  end
  local function sort(list)
    table.sort(list, function(a, b)
      if a.input ~= b.input then return a.input > b.input end
      return a.name < b.name
    end)
    for _, node in ipairs(list) do sort(node.children) end
  end
  sort(roots)
  return roots
end

local function leaves(nodes)
  local n = 0
  for _, node in ipairs(nodes) do n = n + (#node.children > 0 and leaves(node.children) or 1) end
  return n
end

-- ----------------------------------------------------------------- layout --

-- Left edge of every stream, and its row; returns the right edge of what lies below `x`.
local function place(nodes, x, scale)
  for _, node in ipairs(nodes) do
    node.x, node.wide = x, math.max(thinnest, scale * node.input)
    local right = place(node.children, x, scale)
    x = math.max(x + node.wide, right) + gap
  end
  return x - (#nodes > 0 and gap or 0)
end

-- Rows from the smallest child to the greatest, so that streams further right end first.
local function number_rows(nodes, rows)
  for i = #nodes, 1, -1 do
    local node = nodes[i]
    rows[#rows + 1] = node
    node.y = row_height * #rows + 8
    number_rows(node.children, rows)
  end
end

-- ---------------------------------------------------------------- drawing --

local function stream(node, left, right, top)
  local c, d, y = node.x, node.x + node.wide, node.y
  return ('<path class="stream" d="M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fV%.1fH%.1fV%.1f' ..
    'C%.1f %.1f %.1f %.1f %.1f %.1fZ"/>')
    :format(left, top, left, top + 13, c, top + 11, c, top + 24, y + 0.7, d, top + 24, d, top + 11, right, top + 13,
      right, top)
end

local function draw(node, scale, out)
  local right = node.x + node.wide
  if node.kind == "port" then
    local middle = node.x + node.wide / 2
    out[#out + 1] = ('<path class="port" d="M%.1f %.1fH%.1fL%.1f %.1fZ"/>')
      :format(node.x - 3, node.y, right + 3, middle,
      node.y + 9)
    out[#out + 1] = ('<path class="lead" d="M%.1f %.1fH%d"/>'):format(right + 6, node.y + 3, label_at - 4)
    out[#out + 1] = ('<text x="%d" y="%.1f"><tspan class="out">%s</tspan> %s</text>'):format(label_at, node.y + 7,
      page.text(number.watts(node.input)), page.text("out at " .. node.name))
    return
  end
  local thick = math.max(1, scale * node.loss)
  local edge = right - thick / 2
  out[#out + 1] = ('<path class="lost" stroke-width="%.1f" d="M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fH%d"/>')
    :format(thick,
    edge, node.y - 9, edge, node.y + 1, edge + 4, node.y + 3, edge + 12, node.y + 3, label_at - 4)
  out[#out + 1] = ('<text x="%d" y="%.1f"><tspan class="loss">%s</tspan> %s</text>'):format(label_at, node.y + 7,
    page.text(number.watts(node.loss)), page.text("in " .. node.name))
  local x, total = node.x, 0
  for _, child in ipairs(node.children) do total = total + child.input end
  local trunk = math.max(thinnest, scale * node.output)
  for _, child in ipairs(node.children) do
    local share = total > 0 and child.input / total * trunk or trunk
    out[#out + 1] = stream(child, x, x + math.max(share, 0.6), node.y)
    x = x + share
    draw(child, scale, out)
  end
end

-- SVG of the flow; result is a solved document with ports.
function flow.picture(description, result)
  local roots, rows = build(description, result), {}
  local room = stream_room - gap * (leaves(roots) - 1)
  local scale = math.max(40, room) / math.max(result.power.input_w, 1e-9)
  place(roots, 18, scale)
  number_rows(roots, rows)
  local height = row_height * (#rows + 1) + 4
  local out = { ('<svg class="flow" viewBox="0 0 %d %d" role="img" aria-labelledby="flow-title">' ..
    '<title id="flow-title">%s</title>'):format(width, height,
    page.text(("%s enter; %s leave at the ports; the rest is lost on the way, stage by stage")
      :format(number.watts(result.power.input_w), number.watts(result.power.output_w)))) }
  out[#out + 1] = ('<text x="18" y="14"><tspan class="out">%s</tspan> in</text>'):format(
    page.text(number.watts(result.power.input_w)))
  for _, root in ipairs(roots) do
    out[#out + 1] = stream(root, root.x, root.x + root.wide, 20)
    draw(root, scale, out)
  end
  out[#out + 1] = "</svg>"
  return table.concat(out)
end

return flow
