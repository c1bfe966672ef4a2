-- ends with: named on the command line
local b = require "heatledger.binding"
b.plugins "/tmp/evil.so"
