-- What may be mutated, and the tests that must notice. `files`: Lua patterns on the path in the repository.
-- `tests`: folders of programs; names that share a word with the file come first, see scripts/dev/mutate.  `host` and
-- `examples` hold whole adapters, whose figures are laid down.
return {
  { files = { "^plugins/capacitors/" }, tests = { "capacitors", "host", "examples" } },
  { files = { "^plugins/diodes/" }, tests = { "diodes", "host", "examples" } },
  { files = { "^plugins/magnetics/" }, tests = { "magnetics", "host", "examples" } },
  { files = { "^plugins/resistors/" }, tests = { "resistors", "host", "examples" } },
  { files = { "^plugins/switches/", "^plugins/[%w_]+%.h$" }, tests = { "switches", "diodes", "host", "examples" } },
  { files = { "^plugins/stages/" }, tests = { "stages", "host", "examples" } },
  { files = { "^core/wave/" }, tests = { "wave", "magnetics", "host", "examples" } },
  { files = { "^core/thermal/" }, tests = { "thermal", "field", "solve", "host", "examples" } },
  { files = { "^core/solve/" },
    tests = { "solve", "host", "design", "examples", "field", "law", "lua", "spread", "fit", "sweep", "cli" } },
}
