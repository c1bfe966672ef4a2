-- ends with: a nil value (field 'dump')
return load(string.dump(function() return 1 end))
