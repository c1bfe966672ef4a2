-- What may be mutated, and the tests that must notice. `files`: Lua patterns on the path in the repository.
-- `tests`: programs, run in this order until one fails; names that share a word with the file come first.
return {
  { files = { "^plugins/capacitors/" }, tests = { "capacitors" } },
  { files = { "^plugins/diodes/" }, tests = { "diodes" } },
  { files = { "^plugins/magnetics/" }, tests = { "magnetics" } },
  { files = { "^plugins/resistors/" }, tests = { "resistors" } },
  { files = { "^plugins/switches/", "^plugins/[%w_]+%.h$" }, tests = { "switches", "diodes" } },
  { files = { "^plugins/stages/" }, tests = { "stages" } },
  { files = { "^core/wave/" }, tests = { "wave", "magnetics" } },
  { files = { "^core/thermal/" }, tests = { "thermal" } },
  { files = { "^core/solve/" }, tests = { "solve", "host" } },
}
