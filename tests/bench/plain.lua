-- Formulas of the product in plain Lua, as one would type them into a script; rivals.c holds both to the same
-- figures. Sources are beside the originals: core/wave and core/thermal.
local plain = {}
local cos, sin, exp, sqrt, pi = math.cos, math.sin, math.exp, math.sqrt, math.pi

-- Harmonics of a current that rises for 2 us and falls for 1 us, integrated by parts over its straight pieces.
function plain.fourier(rise)
  local piece = { { 2e-6, 1, rise }, { 1e-6, 1 + 2e-6 * rise, -2 * rise } }
  local period, cosine, sine = 3e-6, {}, {}
  for k = 1, 12 do
    local w, t, a, b = 2 * pi * k / period, 0, 0, 0
    for _, s in ipairs(piece) do
      local from, to, first, last = w * t, w * (t + s[1]), s[2], s[2] + s[3] * s[1]
      a = a + (last * sin(to) - first * sin(from)) / w + s[3] * (cos(to) - cos(from)) / (w * w)
      b = b + (first * cos(from) - last * cos(to)) / w + s[3] * (sin(to) - sin(from)) / (w * w)
      t = t + s[1]
    end
    cosine[k], sine[k] = 2 * a / period, 2 * b / period
  end
  return cosine[1] + sine[12]
end

-- Mean square of level + e^(-d t) (cos w t + 2 sin w t) over 3 us, by its closed form in complex numbers.
function plain.mean_square(level)
  local T, d, w, a, b = 3e-6, 2e4, 1.1e6, 1, 2
  local function moment(re, im) -- (e^z - 1) / z
    local e, n = exp(re), re * re + im * im
    local x, y = e * cos(im) - 1, e * sin(im)
    return (x * re + y * im) / n, (y * re - x * im) / n
  end
  local er, ei = moment(-d * T, w * T)
  local fr, fi = moment(-2 * d * T, 2 * w * T)
  local mixed = a * er + b * ei                                 -- Re((a - jb) E)
  local turning = (a * a - b * b) * fr + 2 * a * b * fi         -- Re((a - jb)^2 F)
  local steady = (a * a + b * b) * (exp(-2 * d * T) - 1) / (-2 * d * T)
  return level * level + 2 * level * mixed + 0.5 * (turning + steady)
end

-- Coefficient of a vertical plate 50 mm high in still air of 25 degC.
function plain.plate(surface)
  local air, pressure, length = 298.15, 101325, 0.05
  local t = 0.5 * (surface + air)
  local viscosity = 1.458e-6 * t * sqrt(t) / (t + 110.4)
  local conductivity = 2.64638e-3 * t * sqrt(t) / (t + 245.4 * exp(-12 * 2.302585092994046 / t))
  local heat = 1030.5 - 0.19975 * t + 3.9734e-4 * t * t
  local density = pressure / (287.053 * t)
  local kinematic, diffusivity = viscosity / density, conductivity / (density * heat)
  local prandtl = viscosity * heat / conductivity
  local ra = 9.80665 / t * (surface - air) * length ^ 3 / (kinematic * diffusivity)
  local psi = (1 + (0.492 / prandtl) ^ (9 / 16)) ^ (8 / 27)
  local root = 0.825 + 0.387 * ra ^ (1 / 6) / psi
  return conductivity / length * root * root
end

-- Seconds a call, and the figure of the first one.
function plain.race(once, calls, from, step)
  local began = os.clock()
  for k = 0, calls - 1 do once(from + step * k) end
  return (os.clock() - began) / calls, once(from)
end

return plain
