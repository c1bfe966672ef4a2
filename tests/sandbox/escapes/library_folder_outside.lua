-- ends with: is no folder of the library
local b = require "heatledger.binding"
b.library_files "../../.."
