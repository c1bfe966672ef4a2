-- Mutants that no test can notice, each with the reason; they count for neither side.
-- { file, a piece of the line as mutated, reason }
return {
}
