std = "lua54"
max_line_length = 120
