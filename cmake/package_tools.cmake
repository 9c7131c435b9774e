# Read by cpack before it starts. Without dpkg-shlibdeps it would make packages that depend on nothing; without file it stops
# with a message that does not say what to do.
foreach(tool file dpkg-shlibdeps)
  unset(CM_TOOL)
  find_program(CM_TOOL ${tool} NO_CACHE)
  if(CPACK_GENERATOR STREQUAL "DEB" AND NOT CM_TOOL)
    message(FATAL_ERROR "Debian packages need ${tool}, which is not installed: apt-get install file dpkg-dev")
  endif()
endforeach()
