-- ends with: attempt to index a nil value (global 'io')
return io.open("/etc/passwd"):read("a")
