# What `cmake --install` puts where, in three parts: program, library (run time), development.

# Before 1.0 a minor version may break callers, so it is part of the library's name.
if(PROJECT_VERSION_MAJOR EQUAL 0)
  set(CM_ABI 0.${PROJECT_VERSION_MINOR})
else()
  set(CM_ABI ${PROJECT_VERSION_MAJOR})
endif()

set_target_properties(libcountermass PROPERTIES OUTPUT_NAME countermass EXPORT_NAME countermass
  VERSION ${PROJECT_VERSION} SOVERSION ${CM_ABI})
set_target_properties(libcountermass_static PROPERTIES OUTPUT_NAME countermass EXPORT_NAME static)
foreach(library libcountermass libcountermass_static)
  target_include_directories(${library} INTERFACE $<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}/include>
    $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
endforeach()

# ---- manual and completions, made by the program from its own tables ----

set(CM_ZSH_DIR ${CMAKE_INSTALL_DATADIR}/zsh/site-functions CACHE STRING "Where zsh looks for completions")
set(CM_PAGES ${PROJECT_BINARY_DIR}/pages)
file(MAKE_DIRECTORY ${CM_PAGES})
add_custom_command(OUTPUT ${CM_PAGES}/countermass.1.gz ${CM_PAGES}/countermass ${CM_PAGES}/_countermass
  COMMAND countermass manual > ${CM_PAGES}/countermass.1
  COMMAND gzip -9nf ${CM_PAGES}/countermass.1
  COMMAND countermass completion --shell bash > ${CM_PAGES}/countermass
  COMMAND countermass completion --shell zsh > ${CM_PAGES}/_countermass
  DEPENDS countermass VERBATIM)
add_custom_target(pages ALL DEPENDS ${CM_PAGES}/countermass.1.gz)

# ---- installing ----

install(TARGETS countermass RUNTIME COMPONENT program)
install(FILES ${CM_PAGES}/countermass.1.gz DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
install(FILES ${CM_PAGES}/countermass DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
  COMPONENT program)
install(FILES ${CM_PAGES}/_countermass DESTINATION ${CM_ZSH_DIR} COMPONENT program)
install(FILES cases/schema.json DESTINATION ${CMAKE_INSTALL_DATADIR}/countermass RENAME case-schema.json
  COMPONENT program)
install(DIRECTORY cases/demo/ DESTINATION ${CMAKE_INSTALL_DOCDIR}/examples COMPONENT program)

install(TARGETS libcountermass EXPORT countermassTargets
  LIBRARY COMPONENT library NAMELINK_COMPONENT development)
install(TARGETS libcountermass_static EXPORT countermassTargets ARCHIVE COMPONENT development)
install(DIRECTORY include/ DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT development FILES_MATCHING PATTERN *.h)
install(DIRECTORY tests/consumer/ DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/libcountermass-dev/examples
  COMPONENT development PATTERN *.sh EXCLUDE)

include(CMakePackageConfigHelpers)
set(CM_CONFIG_DIR ${CMAKE_INSTALL_LIBDIR}/cmake/countermass)
configure_package_config_file(cmake/countermassConfig.cmake.in countermassConfig.cmake
  INSTALL_DESTINATION ${CM_CONFIG_DIR})
write_basic_package_version_file(countermassConfigVersion.cmake COMPATIBILITY SameMinorVersion)
install(EXPORT countermassTargets NAMESPACE countermass:: DESTINATION ${CM_CONFIG_DIR} COMPONENT development)
install(FILES ${PROJECT_BINARY_DIR}/countermassConfig.cmake ${PROJECT_BINARY_DIR}/countermassConfigVersion.cmake
  DESTINATION ${CM_CONFIG_DIR} COMPONENT development)
file(RELATIVE_PATH CM_PC_UP /${CMAKE_INSTALL_LIBDIR}/pkgconfig /)
list(GET BLAS_LIBRARY_DIRS 0 CM_BLAS_DIR)
configure_file(cmake/countermass.pc.in countermass.pc @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/countermass.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig
  COMPONENT development)
