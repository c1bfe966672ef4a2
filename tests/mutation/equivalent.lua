-- Mutants that no test can notice, each with the reason; they count for neither side.
-- { file, a piece of the line as mutated, reason }
return {
  { "plugins/stages/bridge_rectifier.c", "isfinite(power + in->load.current - in->extra_loss)",
    "with either sign the sum is finite just when all three are, up to 1e307 W" },
}
