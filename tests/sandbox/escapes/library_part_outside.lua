-- ends with: no part of the library
local b = require "heatledger.binding"
b.catalogue():read_library "../../../x"
