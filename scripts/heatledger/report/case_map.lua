-- report.case_map: the six faces of the case, unfolded, coloured by temperature, with the hot spot marked.

local heat_colour = require "heatledger.report.heat_colour"
local number = require "heatledger.report.number"
local page = require "heatledger.report.page"

local case_map = {}

local width, margin = 460, 6
-- The unfolded box: z1 in the middle, its four neighbours around it, z0 below.
-- across and down: which axes run right and down on a face (negative: from high to low).
local net = {
  { face = "y1", column = 2, row = 1, across = 1, down = 3 },
  { face = "x0", column = 1, row = 2, across = 3, down = -2 },
  { face = "z1", column = 2, row = 2, across = 1, down = -2 },
  { face = "x1", column = 3, row = 2, across = -3, down = -2 },
  { face = "y0", column = 2, row = 3, across = 1, down = -3 },
  { face = "z0", column = 2, row = 4, across = 1, down = 2 },
}

-- Faces of a result: { name = { mean, maximum, patches = { { low = {x, y, z}, high = ..., temperature } } } }.
-- A network of patches tells each; one with a node a face tells its mean alone.
function case_map.faces(result)
  local faces, n = {}, 0
  for _, face in ipairs(result.case or {}) do
    faces[face.face] = { mean = face.mean_c, maximum = face.maximum_c, at = face.at_m, patches = face.patches }
    n = n + 1
  end
  if n > 0 then return faces end
  for _, node in ipairs(result.nodes) do
    local face = node.node:match "^face (%w+)$"
    if face then faces[face], n = { mean = node.temperature_c }, n + 1 end
  end
  return n > 0 and faces or nil
end

-- The hottest place: name of the face, temperature, and whether it is a face's mean only.
function case_map.hottest(faces)
  local name, most, mean_only
  for face, figures in pairs(faces) do
    local value = figures.maximum or figures.mean
    if not most or value > most or (value == most and face < name) then
      name, most, mean_only = face, value, figures.maximum == nil
    end
  end
  return name, most, mean_only
end

local function range(faces, ambient)
  local low, high = math.huge, -math.huge
  for _, face in pairs(faces) do
    for _, value in ipairs { face.mean, face.maximum } do low, high = math.min(low, value), math.max(high, value) end
    for _, patch in ipairs(face.patches or {}) do
      low, high = math.min(low, patch.temperature_c), math.max(high, patch.temperature_c)
    end
  end
  if high - low < 1 then low = math.min(low, ambient) end
  return low, math.max(high, low + 1)
end

-- Position of a point of the case on a face's drawing.
local function project(cell, point, size, x, y, scale)
  local function along(axis)
    local a = math.abs(axis)
    return scale * (axis > 0 and point[a] or size[a] - point[a])
  end
  return x + along(cell.across), y + along(cell.down)
end

local function draw_patches(cell, face, size, x, y, scale, share, out)
  local grounds = {}
  for _, patch in ipairs(face.patches) do
    local x0, y0 = project(cell, patch.low_m, size, x, y, scale)
    local x1, y1 = project(cell, patch.high_m, size, x, y, scale)
    local fill, _, bright = heat_colour.at(share(patch.temperature_c))
    local ground = { x0 = math.min(x0, x1), y0 = math.min(y0, y1), x1 = math.max(x0, x1), y1 = math.max(y0, y1),
      bright = bright }
    grounds[#grounds + 1] = ground
    out[#out + 1] = ('<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="%s"/>'):format(ground.x0, ground.y0,
      ground.x1 - ground.x0 + 0.3, ground.y1 - ground.y0 + 0.3, fill)
  end
  return grounds
end

-- Style of a text around (x, y), which lies over some of these rectangles of the picture: ink by their luminance.
-- Where they are too unlike for one ink (WCAG 2.1, 1.4.3: 4.5), the letters have a rim of the other.
local function text_style(grounds, x, y, text)
  local half, under = 3.4 * utf8.len(text), {}
  for _, ground in ipairs(grounds) do
    if ground.x0 < x + half and ground.x1 > x - half and ground.y0 < y + 3 and ground.y1 > y - 10 then
      under[#under + 1] = ground.bright
    end
  end
  local ink, contrast = heat_colour.ink_on(under)
  if contrast >= 4.5 then return "fill:" .. ink end
  return ("fill:%s;stroke:%s;stroke-width:3px;stroke-linejoin:round;paint-order:stroke"):format(ink,
    ink == "#000" and "#fff" or "#000")
end

local function draw_face(cell, face, place, size, scale, share, hottest, up, out)
  local x, y, w, h = place.x, place.y, place.w, place.h
  local fill, _, bright = heat_colour.at(share(face.mean))
  local grounds = { { x0 = x, y0 = y, x1 = x + w, y1 = y + h, bright = bright } }
  if face.patches and #face.patches > 0 then
    out[#out + 1] = "<g>"
    grounds = draw_patches(cell, face, size, x, y, scale, share, out)
    out[#out + 1] = "</g>"
  else
    out[#out + 1] = ('<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="%s"/>'):format(x, y, w, h, fill)
  end
  out[#out + 1] = ('<rect class="edge%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>'):format(
    cell.face == hottest and " hot" or "", x, y, w, h)
  local lines = { cell.face .. (cell.face == up and ", up" or ""), number.celsius(face.mean) .. " mean" }
  if face.maximum then lines[#lines + 1] = number.celsius(face.maximum) .. " hottest" end
  if w < 88 then
    lines = { cell.face .. (cell.face == up and " up" or ""), number.celsius(face.mean) }
    if face.maximum then lines[#lines + 1] = number.celsius(face.maximum) end
  end
  local step = 14
  local top = y + h / 2 - step * (#lines - 1) / 2 + 4
  for i, line in ipairs(lines) do
    local tx, ty = x + w / 2, top + step * (i - 1)
    out[#out + 1] = ('<text class="on" x="%.1f" y="%.1f" style="%s">%s</text>')
      :format(tx, ty, text_style(grounds, tx, ty, line), page.text(line))
  end
  if face.at and cell.face == hottest then
    local px, py = project(cell, face.at, size, x, y, scale)
    local _, ink = heat_colour.at(share(face.maximum or face.mean))
    out[#out + 1] = ('<path class="mark" style="stroke:%s" d="M%.1f %.1fm-6 0h12m-6 -6v12"/>' ..
      '<circle class="mark" style="stroke:%s" cx="%.1f" cy="%.1f" r="4"/>'):format(ink, px, py, ink, px, py)
  end
end

local function draw_scale(low, high, y, out)
  local steps = 24
  for i = 0, steps - 1 do
    out[#out + 1] = ('<rect x="%.1f" y="%.1f" width="%.1f" height="10" fill="%s"/>')
      :format(margin + (width - 2 * margin)
      * i / steps, y, (width - 2 * margin) / steps + 0.3, (heat_colour.at((i + 0.5) / steps)))
  end
  out[#out + 1] = ('<text x="%d" y="%.1f">%s</text><text class="end" x="%d" y="%.1f">%s</text>'):format(margin, y + 24,
    page.text(number.celsius(low)), width - margin, y + 24, page.text(number.celsius(high)))
end

-- SVG of the unfolded case.
function case_map.picture(box, faces, ambient)
  local size = box.size
  local low, high = range(faces, ambient)
  local function share(temperature) return (temperature - low) / (high - low) end
  local columns = { size[3], size[1], size[3] }
  local rows = { size[3], size[2], size[3], size[2] }
  local scale = (width - 2 * margin - 8) / (columns[1] + columns[2] + columns[3])
  local hottest = case_map.hottest(faces)
  local out, x_of, y_of = {}, { margin }, { margin }
  for i = 1, 3 do x_of[i + 1] = x_of[i] + scale * columns[i] + 4 end
  for i = 1, 4 do y_of[i + 1] = y_of[i] + scale * rows[i] + 4 end
  local height = y_of[5] + 36
  local name, most = case_map.hottest(faces)
  out[1] = ('<svg class="case" viewBox="0 0 %d %.0f" role="img" aria-labelledby="case-title">'
    .. '<title id="case-title">%s</title>'):format(width, height,
      page.text(("the case unfolded; hottest is face %s at %s"):format(name,
      number.celsius(most))))
  for _, cell in ipairs(net) do
    if faces[cell.face] then
      draw_face(cell, faces[cell.face], { x = x_of[cell.column], y = y_of[cell.row], w = scale * columns[cell.column],
        h = scale * rows[cell.row] }, size, scale, share, hottest, box.up, out)
    end
  end
  draw_scale(low, high, y_of[5] + 4, out)
  out[#out + 1] = "</svg>"
  return table.concat(out)
end

return case_map
