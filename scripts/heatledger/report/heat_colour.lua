-- report.heat_colour: a scale of colours whose steps look even: lightness falls steadily from cool to hot,
-- so it reads the same in grey and to colour-blind readers.
--
-- OKLab to linear sRGB: B. Ottosson, "A perceptual color space for image processing", 2020.
-- Contrast: W3C, Web Content Accessibility Guidelines 2.1, relative luminance.

local heat_colour = {}

-- Lightness, chroma and hue (degrees) at the cool end and the hot end.
local cool, hot = { 0.93, 0.055, 100 }, { 0.36, 0.150, 20 }

local function encode(linear)
  linear = math.max(0, math.min(1, linear))
  return linear <= 0.0031308 and 12.92 * linear or 1.055 * linear ^ (1 / 2.4) - 0.055
end

local function decode(value)
  return value <= 0.04045 and value / 12.92 or ((value + 0.055) / 1.055) ^ 2.4
end

local function luminance(r, g, b)
  return 0.2126 * decode(r) + 0.7152 * decode(g) + 0.0722 * decode(b)
end

-- share 0..1 -> "#rrggbb", the ink that reads on it, and its relative luminance.
function heat_colour.at(share)
  share = math.max(0, math.min(1, share))
  local L = cool[1] + (hot[1] - cool[1]) * share
  local C = cool[2] + (hot[2] - cool[2]) * share + 0.10 * share * (1 - share)
  local h = math.rad(cool[3] + (hot[3] - cool[3]) * share)
  local a, b = C * math.cos(h), C * math.sin(h)
  local l = (L + 0.3963377774 * a + 0.2158037573 * b) ^ 3
  local m = (L - 0.1055613458 * a - 0.0638541728 * b) ^ 3
  local s = (L - 0.0894841775 * a - 1.2914855480 * b) ^ 3
  local red = encode(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s)
  local green = encode(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s)
  local blue = encode(-0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s)
  local bright = luminance(red, green, blue)
  local ink = (bright + 0.05) / 0.05 >= 1.05 / (bright + 0.05) and "#000" or "#fff"
  return ("#%02x%02x%02x"):format(math.floor(255 * red + 0.5), math.floor(255 * green + 0.5),
    math.floor(255 * blue + 0.5)), ink, bright
end

-- The ink that reads best on all of these luminances together, and the least contrast that it has.
function heat_colour.ink_on(luminances)
  local black, white = math.huge, math.huge
  for _, bright in ipairs(luminances) do
    black, white = math.min(black, (bright + 0.05) / 0.05), math.min(white, 1.05 / (bright + 0.05))
  end
  if black >= white then return "#000", black end
  return "#fff", white
end

return heat_colour
