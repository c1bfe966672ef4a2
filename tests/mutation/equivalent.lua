-- Mutants that no test can notice, each with the reason; they count for neither side.
-- { file, a piece of the line as mutated, reason }: judged all the same, and named so where it survives.
-- { file, functions = { name, ... }, reason }: functions that only begin a search, bracket it or choose its steps, whose
-- end is judged by something outside of them.  Not mutated at all; the reason says what judges the end, and how near.
return {
  { "core/thermal/elimination.c", "e->n + 2 * (e->fill) > NUMBERS_MAX",
    "never reached: 512 columns whose squares sum to 100000 hold sqrt(512 x 100000) = 7155 numbers at most, so " ..
    "either sum stays below 16000" },
  { "core/solve/mains.c", "cosine[k] -= a[k] * (state->input_current / current);",
    "all cosines of all stages turn their sign, so that of their sum does, and only its size is asked for" },
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
  { "core/solve/anchor.c", "at.into_power = at.into_power >= 0.55;",
    "which of two kept points a start is taken from, where both are about as far: the point found is the same" },
  { "core/solve/warmup_critical.c", "high - 0.022 * room);",
    "how near to its upper end a bracket is tried next: the border is found to 1e-4 of the way from either" },
  { "core/wave/power_mean.c", "fmax(1.0, exp(-s->decay / T));",
    "a growing piece shorter than a second then goes the longer way more often, which tells the same to 1e-11" },
  { "core/solve/electrical.c", "double power = fabs(then->load.power) - fabs(then->extra_loss);",
    "what a stage is asked counts as the same less often: it is asked once more and answers the same" },
  { "core/thermal/settle.c", "work_assemble_links(work, 5.5);",
    "a scale for artificial time steps, which only pave the way to a steady state" },
  { "core/thermal/steady.c", "after <= (1 - 1e-3 / share) * before",
    "how much a damped step of a search has to bring: its end is judged by what is left open alone" },
  { "plugins/stages/inductor_span.h", "if (d > 0.0 && (q > 0.275 || w2 * t * t < 0.01)) {",
    "the border between two formulas for the same response, which agree there to rounding" },
  { "core/wave/exponential.c", "7.88613759844e-13},",
    "a tenth of the last term is 4e-18 at most: below rounding" },
  -- the flyback
  { "plugins/stages/flyback_solve.h", functions = { "flyback_peak_guess", "flyback_next_peak", "flyback_arrived" },
    "the start of Newton's steps, their bounds and when they end: flyback_peak_for takes the peak where its charge is " ..
    "the wanted one to 1e-10, flyback_solve_resonant where the load is, and on the rising side; " ..
    "any_start_leads_to_the_same_peak begins from a hundredth to a hundred times the peak" },
  { "plugins/stages/flyback_solve.h", functions = { "flyback_resonant_guess" },
    "the start of Newton's steps: the cycle taken delivers the load to 1e-10 and more with more peak, which only one " ..
    "does; any_start_leads_to_the_same_peak begins from half to twice the peak" },
  { "plugins/stages/flyback_solve.h", functions = { "flyback_continuous_guess", "flyback_inside", "flyback_climb" },
    "the start of Newton's steps, how far they go at once, and a sure way to a start: flyback_solve_continuous takes " ..
    "the cycle whose period and charge are right to 1e-12; check_flyback_start.c and the_climb_leads_to_the_same_cycle " ..
    "tell that they lead there" },
  { "plugins/stages/flyback_clamp.h", functions = { "flyback_hunt_from", "flyback_hunt_stuck", "flyback_hunt_next" },
    "where a search begins and goes next: flyback_hunt_arrived takes a voltage that misses by 1e-12 of itself or " ..
    "whose bracket is 1e-15 wide, and what never arrives is refused; random_settings_close_the_book_and_never_hang " ..
    "begins from other points" },
  { "plugins/stages/flyback_clamp.h",
    functions = { "flyback_left_from", "flyback_left_arrived", "flyback_left_next" },
    "a search of the voltage left before a pulse; a_pulse_recharges_the_clamp_and_no_more compares it with what is " ..
    "left of the peak after a period, to 1e-9, and what never arrives is refused" },
  { "plugins/stages/flyback_cycle.h", functions = { "flyback_fill_time" },
    "Newton's steps to the time of a fill: a_fill_brings_its_charge compares the charge with the asked one to 1e-13" },
  { "plugins/stages/flyback.c", "least / (1.0 + 1e-9)))",
    "a clamp within 2e-9 of the least one that works is refused or not: no part is known so well" },
  { "plugins/stages/flyback_span.h", functions = { "flyback_first_step", "flyback_until_done" },
    "the first of Newton's steps to an event and when they end; an_event_is_when_nothing_is_left compares what is left " ..
    "with 1e-13 of what was there" },
  { "plugins/stages/flyback_span.h", functions = { "flyback_terms", "flyback_panel" },
    "how many terms of a series and how long a panel: a_motion_twice_as_long_is_the_motion_twice holds the series to " ..
    "2e-15, moments_of_a_leg_are_those_of_its_exponential and moments_of_a_span_add_up the panels to 1e-12" },
  { "plugins/stages/flyback_span.h", "fabs(x) > 1.1e-05 ? expm1(x) / x",
    "the border between two formulas, which agree there to 1e-16" },
  { "plugins/stages/flyback_span.h", "fabs(z) > 1.1e-05 ? log1p(z) / z",
    "the border between two formulas, which agree there to 1e-15" },
  { "plugins/stages/flyback_span.h", "if (fabs(x) > 0.55) return (expm1(x) - x)",
    "the border between two formulas, which agree there to rounding" },
  { "plugins/stages/flyback_span.h", "if (!(fabs(s->trace * t) > 0.55)) return flyback_motion_short(s, t);",
    "the border between a series and a closed form, which agree there to rounding" },
  { "plugins/stages/flyback_span.h", "if (!(x <= 0.55)) {",
    "the border between a series and a closed form, which agree there to rounding" },
  { "plugins/stages/flyback_ring.h", "t = 0.66 * high;",
    "the start of bracketed Newton's steps; a_ring_is_at_zero_when_it_is_said_to_be holds their end to 1e-12" },
  { "plugins/stages/flyback_ring.h", "next = 0.55 * (low + high);",
    "where a bracket is tried next; a_ring_is_at_zero_when_it_is_said_to_be holds the end to 1e-12" },
  { "plugins/stages/flyback.c", "least * k->period * (1.0)))", "a border of 1e-9, to either side of which is the same" },
  { "plugins/stages/flyback.c", "least * k->period * (1.0 + 1e-9)))",
    "a border of 1e-9, to either side of which is the same" },
  { "plugins/stages/flyback_stress.h", "if (!(transformers > 1.1)) continue;", "a whole number" },
  { "plugins/stages/flyback_plan.h", "node->share = fmin(share, 1.1);",
    "the share is above 1 by 1e-12 at most, or refused in the next line" },
  { "plugins/stages/flyback_cycle.h", "flyback_span_until(&s, x0, (flyback_pair){1.1, 0.0});",
    "the time at which 1.1 times the current is zero" },
  -- resonant converter, charging pulse
  { "plugins/stages/llc_search.h",
    functions = { "llc_phasor", "llc_ac_resistance", "llc_guess_state", "llc_unloaded", "llc_loaded", "llc_guess",
                  "llc_follow" },
    "where Newton's steps begin: llc_at_load and llc_periodic judge their end by what is open of the half wave, 2e-14 " ..
    "of its scale, or 1e-11 where rounding is left; tests/stages/check_llc_start.c begins a third off, and by the scan, " ..
    "and comes to the same half waves" },
  { "plugins/stages/llc_newton.h", functions = { "llc_move" },
    "how far a step goes: llc_at_load judges the end by what is open of load and half wave, 2e-14 of their scale" },
  { "plugins/stages/charging_pulse.h", functions = { "pulse_nearer", "pulse_bracket", "pulse_between", "pulse_guess" },
    "starts and steps of searches in a bracket: the current's zero is found to 1e-16 of the half line, the start angle " ..
    "to 2e-15 of the crest by pulse_follow or by pulse_search; tests/stages/check_charging_pulse.c wants both to come " ..
    "to the same, and the quick one to come there at once" },
  { "plugins/stages/llc_report.h", functions = { "llc_rounding", "llc_carries" },
    "which of two figures of the power drawn is told, by charge or by book, where they agree within rounding" },
  { "plugins/stages/llc_border.h", "circuit->fast.reach / 0.66, LLC_SAMPLES_MAX", "places at which borders are looked at, " ..
    "by a tenth less near: half a turn of the ringing lies between five of them with either" },
  { "plugins/stages/llc_figures.h", "circuit->fast.reach / 0.88, LLC_SAMPLES_MAX", "places at which slopes are looked " ..
    "at, by a tenth less near: half a turn of the ringing lies between three of them with either" },
  { "plugins/stages/llc_figures.h", ".reach, 2200.0);", "never reached: a half wave turns its ringing a few times" },
  { "plugins/stages/llc_figures.h", "0.1375 * T * T", "a bound by which peaks are looked for, a tenth wider: more is " ..
    "looked for, the same is found" },
  { "plugins/stages/llc_figures.h", "omega * T > 1.1 ? 1.0 / omega : T", "both bound the same sine" },
  { "plugins/stages/llc_figures.h", "omega * T < 1.0 ? 1.0 / omega : T", "the greater of two that bound the same sine" },
  { "plugins/stages/llc_waves.h", "(all->reflected - 1e-300)", "of a secondary without resistance the core's voltage " ..
    "shows no magnetizing current: with minus and plus infinity alike no piece is asked for" },
  { "plugins/stages/llc_border.h", "to = k - 1 == n ? limit : from + step;",
    "the last sample then lies beside the limit by rounding, and a crossing is cut to the limit" },
  -- dc-fed stages around one inductor, boost power-factor stages
  { "plugins/stages/synchronous_buck.c", functions = { "first_guess" },
    "where cycle_settle begins, which takes what moves by less than 1e-8 at a step of Newton's (its square is left); " ..
    "a_cycle_is_found_from_anywhere begins from a thousandth to all of the period, a_stage_delivers_up_to_what_its_" ..
    "resistances_allow tells that none is refused, and dc_stage_try that none is given up" },
  { "plugins/stages/boost.c", functions = { "first_guess" },
    "as of synchronous_buck.c; at the root of the lower duty ratio up to 0.999 of the largest load" },
  { "plugins/stages/four_switch_buck_boost.c", functions = { "first_guess" }, "as of synchronous_buck.c and boost.c" },
  { "plugins/stages/inductor_cycle.h", functions = { "next_control" },
    "how far a step goes: cycle_newton takes what moves by less than 1e-8 and is not held at a bound; a_cycle_is_found_" ..
    "from_anywhere" },
  { "plugins/stages/inductor_search.h", functions = { "path_charge", "cycle_search" },
    "a bracketed way to a start: its end is handed to cycle_newton, and taken from that; a_cycle_is_found_from_anywhere " ..
    "asks it by itself" },
  { "plugins/stages/inductor_span.h", functions = { "crossing_rate" },
    "the slope of Newton's steps inside a bracket 1e-15 wide at the end; a_current_comes_to_zero_where_it_first_does " ..
    "wants 1e-13. Of a start at zero its sign alone counts, with beta 0 that of the current's slope" },
  { "plugins/stages/boost_cycle.h", functions = { "boost_guess" },
    "where Newton begins: boost_discontinuous goes on until a step is below 1e-14 of the on-time; a_cycle_of_a_mean_" ..
    "current_carries_it" },
  { "plugins/stages/boost_line.h", functions = { "border_guess", "border_between", "next_unknown" },
    "starts and steps: find_border takes a conducting time right to 1e-7 and deliver a power right to 1e-12; " ..
    "what_is_delivered_is_found_from_anywhere, cycles_change_their_kind_at_the_border, what_can_be_delivered_is" },
  { "plugins/stages/boost_solve.h", functions = { "first_guess", "start_from" },
    "where deliver begins, which takes a power right to 1e-12: from a third to three times that it comes to the same, " ..
    "and refuses nothing up to 0.92 of what the resistances allow; check_boost_line.c, warm_start_changes_nothing" },
  { "plugins/stages/boost_cycle.h", "last = -1.1", "the first pass moves from nowhere: at least 1, which is never near" },
  { "plugins/stages/boost_cycle.h", "moved = 1.1", "replaced by the first pass before it is looked at" },
  { "plugins/stages/boost_cycle.h", "fabs(duty);", "more passes at a fixed point: the last ones move nothing" },
  { "plugins/stages/boost_cycle.h", "(pass < 1 &&", "more passes at a fixed point: the last ones move nothing" },
  { "plugins/stages/boost_cycle.h", "0.25 * on", "how far a step of Newton's goes down: it ends below 1e-14 of the on-time" },
  { "plugins/stages/boost_cycle.h", "0.275 * on",
    "how far a step of Newton's goes down: it ends below 1e-14 of the on-time" },
  { "plugins/stages/boost_line.h", "second -= 2.2 * m",
    "the slope of Newton's steps to the top of a wave, which end at 1e-12: the_ripple_is_peak_to_peak" },
  { "plugins/stages/boost.c", "ratio = 0.679837387625",
    "by how much a search for a maximum narrows at a time: to 1e-10 of the on-time with this one, too" },
  { "plugins/stages/boost.c", "/ charge : 1.1;", "one or more alike: the node has swung all the way" },
  { "plugins/stages/synchronous_buck.c", "/ charge : 1.1;", "one or more alike: the node has swung all the way" },
  { "plugins/stages/four_switch_buck_boost.c", "/ charge : 1.1;", "one or more alike: the node has swung all the way" },
  { "plugins/stages/four_switch_buck_boost.c", "skipping ? -on + through - 3.0 * dead",
    "the control is then another figure of the same period, which the states add up to and the load decides" },
  { "plugins/stages/four_switch_buck_boost.c", "skipping ? -on - through + 3.0 * dead",
    "the control is then another figure of the same period, which the states add up to and the load decides" },
  { "plugins/stages/four_switch_buck_boost.c", "c->control_floor = skipping ? on - (",
    "a bound below what is looked for: pulses are left out only where fewer of them do than come without" },
  { "plugins/stages/boost_line.h", "at_low *= 0.55;", "steps of a search that ends at 1e-7 from any" },
  { "plugins/stages/boost_line.h", "at_high *= 0.55;", "steps of a search that ends at 1e-7 from any" },
  -- networks of heat
  { "core/thermal/gain.c", functions = { "shift_above", "power_steps", "begin_with" },
    "where narrow_down begins: it ends when its figure and Collatz's bound from above agree to 1e-9, and asks for a " ..
    "higher shift where one is too low; gain_is_the_greatest_eigenvalue compares with a dense solution" },
  { "core/thermal/steady.c",
    functions = { "take_guess", "stepped", "search", "factors_serve", "factors_are_near", "step_with_older" },
    "where Newton's steps begin, how far they go and with which factors: newton ends when 1e-11 of the heat is left " ..
    "open, and hands to work_settle what it cannot do; below_the_critical_load_the_stable_solution_is_found_from_any_" ..
    "start.  A step of network_step is judged by the rounds of core/solve/coupled.c, and another way is gone where they " ..
    "do not settle" },
  { "core/thermal/settle.c", functions = { "set_inertia", "add_inertia", "go_back" },
    "artificial time, and how much of it a step takes: work_settle ends when 1e-11 of the heat is left open at a point " ..
    "with positive pivots, or beyond 2000 K; beyond_the_critical_load_is_a_runaway_from_any_start tells that it gets there" },
  { "core/thermal/critical.c", functions = { "keep_tangent", "next_move" },
    "from where Newton's steps of correct begin, which ends when 1e-11 of the heat is left open; a step that fails is " ..
    "made again with a quarter of its length, down to 1e-7 K" },
  { "core/thermal/critical.c", functions = { "next_look" },
    "where a bracket is looked into next: find_fold ends when it is 1e-6 K wide, or ds/dT is 1e-9 of what it was" },
  { "core/thermal/critical.c", "f_high *= 0.55;", "where a bracket is looked into next, as for next_look" },
  { "core/thermal/critical.c", "f_low *= 0.55;", "where a bracket is looked into next, as for next_look" },
  { "core/thermal/critical.c", "move *= 0.275;", "how much shorter a step along the branch is tried again" },
  { "core/thermal/critical.c", "b->factor = 1e-3 * fmin(most, 1.1);",
    "the load at which the branch is entered: a thousandth, and less only where less is asked for" },
  { "core/thermal/settle.c", "climb c = {work, heat, context, 0.11, true};",
    "the first step in an artificial time, whose further steps find their own length" },
  { "core/thermal/settle.c", "change < 0.55 * longest_step", "how long the next step in an artificial time is" },
  { "core/thermal/settle.c", "longest_step ? 2.2 : 1.0;", "how long the next step in an artificial time is" },
  { "core/thermal/settle.c", "longest_step ? 2.0 : 1.1;", "how long the next step in an artificial time is" },
  { "core/thermal/steady.c", "reduction * imbalance <= 0.11 * tolerance;",
    "whether factors serve once more: the end is judged by what is left open" },
  { "core/thermal/work.c", "work->column[j + 1] - work->column[j] : -1.1;",
    "a matrix that only settles the order of elimination, which is kept to whatever its pivots are" },
  { "core/thermal/field_order.c",
    functions = { "spanning", "part", "best_plane", "append_block", "dissect" },
    "in which order cells are eliminated: Cholesky's factors of a positive matrix give the same solution in any order, " ..
    "to rounding; only the time it takes tells" },
  { "core/thermal/field_warm.c", functions = { "shorter", "longer" },
    "how long the next step in time is tried: one_step takes none that error_of says is off by more than 5e-3 K" },
  { "core/thermal/field_settle.c", functions = { "weigh" },
    "the weights of a step towards a fixed point: field_settle ends when what is open is below the tolerance, " ..
    "2e-11 of the heat; a_fixed_point_is_found tells that it takes few rounds" },
  { "core/thermal/air_rows.c", "rayleigh < 1e-30 && rayleigh <= 1e30",
    "each row is then worked out by itself, by the same law, to rounding" },
  { "core/thermal/gap.c", "double turbulent = ra > 4950.0 ?",
    "up to there the turbulent form is 1.031 at most, and below what leads from conduction to it" },
  { "core/thermal/gap.c", "double layer = ra > 184 / aspect ?",
    "below Ra = 184 aspect the form is less than 1, and conduction is more" },
  { "core/thermal/field_order.c", "o.beyond[g->pairs[i].axis / g->cells + g->pairs[i].a]",
    "whose lower cell joins a plane: only the order of elimination turns on it" },
  { "plugins/stages/line_wave.h", "8.411880105e-13}", "a tenth of the last term is 1e-16 of the sum at most" },
  { "plugins/stages/line_wave.h", "4.94816476765e-14}", "a tenth of the last term is 3e-17 of the sum at most" },
  { "plugins/stages/line_wave.h", "if (y > 0.55)", "the border between two formulas, which agree there to 1e-14" },
  -- what the dc-fed stages share
  { "plugins/stages/switched_stage.h", "if (b->inductors > 1.1)", "a whole number" },
  { "plugins/stages/switched_stage.h", functions = { "skipping_start" },
    "where Newton's steps to the period of skipped pulses begin, and a bound a thousand times as far: the cycle is " ..
    "taken by cycle_newton where the last step moved less than 1e-8, the error its square; "..
    "a_cycle_is_found_from_anywhere begins elsewhere" },
}
