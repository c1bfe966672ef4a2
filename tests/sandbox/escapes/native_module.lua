-- ends with: module 'socket' is not open to scripts
require "socket"
