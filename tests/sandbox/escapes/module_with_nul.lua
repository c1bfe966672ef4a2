-- ends with: the library has no module
require "heatledger.x\0y"
