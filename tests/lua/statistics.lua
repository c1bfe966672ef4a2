-- The statistics a script may use, against closed forms; returns an adapter when all of them hold.
local hl = require "heatledger"
local s = hl.statistics

local function near(what, got, wanted, tolerance)
  local off = math.abs(got - wanted)
  if off ~= off or off > (tolerance or 1e-9) * math.max(1, math.abs(wanted)) then
    error(("%s: %.12g, expected %.12g"):format(what, got, wanted), 0)
  end
end

-- Product of 5(0.1) and 2(0.02): relative uncertainties add in square; degrees of freedom by Welch-Satterthwaite,
-- JCGM 100:2008 eq. G.2b; with correlation 1 the shares add.
local function product(a, b) return a * b end
local r = s.combine(product, { x = { 5, 2 }, u = { 0.1, 0.02 }, freedom = { 9, 4 } })
near("y", r.y[1], 10)
near("u", r.u[1], math.sqrt(0.05), 1e-6)
near("freedom", r.freedom[1], 0.05 ^ 2 / (0.2 ^ 4 / 9 + 0.1 ^ 4 / 4), 1e-6)
near("sensitivity", r.sensitivity[1][1], 2, 1e-6)
near("related", s.combine(product, { x = { 5, 2 }, u = { 0.1, 0.02 }, correlations = { { 1, 1 }, { 1, 1 } } }).u[1],
  0.3, 1e-6)
-- A square at zero has no first order; its second is sqrt(2) u^2, JCGM 100:2008 5.1.2 note.
local square = s.combine(function(x) return x * x end, { x = { 0 }, u = { 0.1 }, second_order = true })
near("second order", square.u[1], math.sqrt(2) * 0.01, 1e-4)
local two = s.combine(function(a, b) return a + b, a - b end, { x = { 1, 1 }, u = { 0.1, 0.1 }, outputs = 2 })
near("sum and difference are not related", two.correlations[1][2], 0, 1e-9)

-- The sum of two uniforms on 0..1 is triangular: deviation sqrt(1/6), 5 % below sqrt(0.1).
local uniforms = { { "uniform", 0, 1 }, { "uniform", 0, 1 } }
local sum = s.sample(function(a, b) return a + b end,
  { inputs = uniforms, samples = 20000, seed = 3, quantiles = { 0.05, 0.5 }, coverage = 0.9 })
near("mean", sum.mean, 1, 1e-3)
near("deviation", sum.deviation, math.sqrt(1 / 6), 2e-2)
near("quantile", sum.quantiles[1], math.sqrt(0.1), 2e-2)
near("interval", sum.low, math.sqrt(0.1), 2e-2)
near("shortest interval", sum.shortest_high - sum.shortest_low, sum.high - sum.low, 3e-2)
-- Moving together they are twice one of them.
local together = s.sample(function(a, b) return a + b end,
  { inputs = { { "normal", 0, 1 }, { "normal", 0, 1 } }, samples = 4000, correlations = { { 1, 0.9 }, { 0.9, 1 } } })
near("related deviation", together.deviation, math.sqrt(3.8), 5e-2)
local function upper_half(a) if a > 0.5 then return a end end
local some = s.sample(upper_half, { inputs = { { "uniform", 0, 1 } }, samples = 1000 })
near("half have an answer", some.solved, 500, 1e-2)

-- x + 2 y: shares of the variance 1 / 5 and 4 / 5, no interaction.
local shares = s.indices(function(x, y) return x + 2 * y end,
  { inputs = { { "normal", 0, 1 }, { "normal", 0, 1 } }, base = 2048, seed = 2 })
near("first", shares.first[1], 0.2, 0.03)
near("total", shares.total[2], 0.8, 0.03)

-- A line through three points that lie on it; the priors of a value narrow it.
local function line(a, b) return { a, a + b, a + 2 * b } end
local free = { { start = 0, low = -9, high = 9 }, { start = 0, low = -9, high = 9 } }
local read = { { value = 1, u = 0.1 }, { value = 3, u = 0.1 }, { value = 5, u = 0.1 } }
local fit = s.least_squares(line, { values = free, readings = read })
near("intercept", fit.values[1].estimate, 1, 1e-6)
near("slope", fit.values[2].estimate, 2, 1e-6)
-- covariance of a straight line: u^2 (A^T A)^-1 with A = [1 0; 1 1; 1 2]
near("its error", fit.values[2].standard_error, 0.1 / math.sqrt(2), 1e-3)
near("correlation", fit.correlations[1][2], -3 / math.sqrt(15), 1e-3)
near("degrees of freedom", fit.degrees_of_freedom, 1)
near("sum of squares", fit.sum_of_squares, 0, 1e-9)

-- Tables of the distribution: 2.2281 at ten degrees of freedom, 1.9600 of the normal.
near("t", s.student_quantile(0.975, 10), 2.2281388520, 1e-8)
near("normal", s.student_quantile(0.975), 1.9599639845, 1e-8)

local a = hl.adapter "bench"
a:supply { voltage = "12 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1.5 W" }
return a
