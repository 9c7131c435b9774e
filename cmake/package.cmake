# Debian packages: `cpack -G DEB` in the build folder makes countermass, libcountermass and libcountermass-dev. It needs
# Debian's packages file and dpkg-dev. What only packages have is left out of a plain installation.

set(CPACK_PACKAGE_NAME countermass)
set(CPACK_PACKAGE_CONTACT "countermass maintainers <maintainers@countermass.invalid>")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_COMPONENTS_ALL program library development)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS ON)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)

set(CM_PACKAGE_program countermass)
set(CM_PACKAGE_library libcountermass${CM_ABI})
set(CM_PACKAGE_development libcountermass-dev)
set(CM_SECTION_program science)
set(CM_SECTION_library libs)
set(CM_SECTION_development libdevel)
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "balancing of flexible multi-bearing rotors")
set(CM_ABOUT_program "From the runs of a rotor (readings of vibration and trial masses, in a YAML
file) to the correction masses on several planes, by influence coefficients
and least squares, with predicted vibration and a proof of optimality.")
set(CM_ABOUT_library "The library: influence coefficients, least squares and second-order cone
programmes for the balancing of rotors, in C.")
set(CM_ABOUT_development "For development with the library: headers, static library, pkg-config file,
CMake package and examples in C, C++ and Python.")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS "libcountermass${CM_ABI} (= ${PROJECT_VERSION}), libopenblas-dev, liblapacke-dev, libyaml-dev")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SUGGESTS gfortran) # for programs without shared libraries

# Debian's changelog and copyright file of each package, and the man page's compression, are its policy.
string(TIMESTAMP CM_NOW "%a, %d %b %Y %H:%M:%S +0000" UTC)
configure_file(cmake/changelog.in changelog @ONLY)
add_custom_command(OUTPUT changelog.gz COMMAND gzip -9nkf changelog DEPENDS ${PROJECT_BINARY_DIR}/changelog VERBATIM)
add_custom_target(changelog_gz ALL DEPENDS changelog.gz)
foreach(part program library development)
  string(TOUPPER ${part} PART)
  set(CPACK_DEBIAN_${PART}_PACKAGE_NAME ${CM_PACKAGE_${part}})
  set(CPACK_DEBIAN_${PART}_PACKAGE_SECTION ${CM_SECTION_${part}})
  set(CPACK_DEBIAN_${PART}_DESCRIPTION "${CM_ABOUT_${part}}")
  set(CPACK_COMPONENT_${PART}_DESCRIPTION "${CM_ABOUT_${part}}")
  install(FILES ${PROJECT_BINARY_DIR}/changelog.gz cmake/copyright
    DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/${CM_PACKAGE_${part}} COMPONENT ${part} EXCLUDE_FROM_ALL)
endforeach()
install(FILES ${CM_PAGES}/_countermass DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions
  COMPONENT program EXCLUDE_FROM_ALL)

file(WRITE ${PROJECT_BINARY_DIR}/triggers "activate-noawait ldconfig\n")
set(CPACK_DEBIAN_LIBRARY_PACKAGE_CONTROL_EXTRA ${PROJECT_BINARY_DIR}/triggers)

set(CPACK_PROJECT_CONFIG_FILE ${PROJECT_SOURCE_DIR}/cmake/package_tools.cmake)
include(CPack)
