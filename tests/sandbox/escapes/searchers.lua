-- ends with: global 'package'
package.searchers[1] = function() return error end
