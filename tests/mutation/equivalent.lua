-- Mutants that no test can notice, each with the reason; they count for neither side.
-- { file, a piece of the line as mutated, reason }
return {
  { "core/thermal/elimination.c", "e->n + 2 * (e->fill) > NUMBERS_MAX",
    "never reached: 512 columns whose squares sum to 100000 hold sqrt(512 x 100000) = 7155 numbers at most, so " ..
    "either sum stays below 16000" },
  { "core/solve/mains.c", "cosine[k] -= a[k] * (state->input_current / current);",
    "all cosines of all stages turn their sign, so that of their sum does, and only its size is asked for" },
  { "plugins/stages/four_switch_buck_boost.c", "1e-9 / vin * vin);",
    "a guard in the start of a search: where it acts the start is cut to the longest on-time, with either" },
  { "plugins/stages/flyback_plan.h", "if (valley <= least) valley = least;",
    "a pulse begun with the ring's negative current is longer than one begun with none by at least the time of the " ..
    "body path, whose voltage is higher: so the valley asked for is a later one, but for rounding" },
  { "plugins/stages/bridge_rectifier.c", "isfinite(power + in->load.current - in->extra_loss)",
    "with either sign the sum is finite just when all three are, up to 1e307 W" },
  { "plugins/stages/boost_line.h", "if (top > 0 && top - 1 < n) {",
    "where the last node is the highest, one more place is looked at for a peak: no cycle peaks higher than the " ..
    "highest does" },
  { "core/thermal/critical.c", "double move = 1.1, estimate = 0;",
    "the first step along a branch whose further steps find their own length: the end is found to 1e-7 from either" },
  { "plugins/stages/flyback_span.h", "if (k == 0 && fabs(bend) < 0.3) step /= 1.0 + bend;",
    "the first of up to sixty steps of Newton's, which end at the same zero to 1e-15" },
  { "plugins/stages/inductor_span.h", "rate = alpha * slope - beta * (2.0 * law->a * slope + law->w2);",
    "the slope of Newton's steps inside a bracket: with another they are slower and end at the same zero, 1e-15 wide" },
  { "plugins/stages/housekeeping.c", "isfinite(circuits - bleeder + in->extra_loss)",
    "with either sign the sum is finite just when all three are, up to 1e307 W" },
  { "plugins/stages/housekeeping.c", "isfinite(circuits + bleeder - in->extra_loss)",
    "with either sign the sum is finite just when all three are, up to 1e307 W" },
  { "core/solve/anchor.c", "at.into_power = at.into_power >= 0.55;",
    "which of two kept points a start is taken from, where both are about as far: the point found is the same" },
  { "core/solve/warmup_critical.c", "high - 0.022 * room);",
    "how near to its upper end a bracket is tried next: the border is found to 1e-4 of the way from either" },
  { "core/wave/power_mean.c", "fmax(1.0, exp(-s->decay / T));",
    "a growing piece shorter than a second then goes the longer way more often, which tells the same to 1e-11" },
}
