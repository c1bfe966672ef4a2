/* foreach_macros.h - for cppcheck alone, which does not read system headers: the two macros of the JSON
 * library that look like statements. */
#define json_array_foreach(array, index, value)                                                              \
    for (index = 0; index < json_array_size(array) && (value = json_array_get(array, index)); index++)
#define json_object_foreach(object, key, value)                                                              \
    for (key = json_object_iter_key(json_object_iter(object));                                               \
         key && (value = json_object_get(object, key)); key = next_key(object, key))
