# What `cmake --install` puts where, in three parts: program, library (run time), development. What differs between a plain
# installation and a Debian package is in the part `plain` here and in package.cmake there.

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

set(CM_PAGES ${PROJECT_BINARY_DIR}/pages)
file(MAKE_DIRECTORY ${CM_PAGES})
add_custom_command(OUTPUT ${CM_PAGES}/countermass.1.gz ${CM_PAGES}/countermass ${CM_PAGES}/_countermass
  COMMAND countermass manual > ${CM_PAGES}/countermass.1
  COMMAND gzip -9nf ${CM_PAGES}/countermass.1
  COMMAND countermass completion --shell bash > ${CM_PAGES}/countermass
  COMMAND countermass completion --shell zsh > ${CM_PAGES}/_countermass
  DEPENDS countermass VERBATIM)
add_custom_target(pages ALL DEPENDS ${CM_PAGES}/countermass.1.gz)

# ---- documents and examples, their links as they are when installed ----

set(CM_DOCUMENTS ${PROJECT_BINARY_DIR}/documents)
file(RELATIVE_PATH CM_SCHEMA_LINK ${CMAKE_INSTALL_FULL_DOCDIR}/examples
  ${CMAKE_INSTALL_FULL_DATADIR}/countermass/case-schema.json)

# One source file to its installed place under share/doc/countermass; what follows are editing commands of sed.
function(cm_document source place)
  list(TRANSFORM ARGN PREPEND "-e;" OUTPUT_VARIABLE edits)
  get_filename_component(folder ${CM_DOCUMENTS}/${place} DIRECTORY)
  file(MAKE_DIRECTORY ${folder})
  add_custom_command(OUTPUT ${CM_DOCUMENTS}/${place}
    COMMAND sed ${edits} ${PROJECT_SOURCE_DIR}/${source} > ${CM_DOCUMENTS}/${place}
    DEPENDS ${PROJECT_SOURCE_DIR}/${source} VERBATIM)
  set_property(GLOBAL APPEND PROPERTY CM_DOCUMENT_FILES ${CM_DOCUMENTS}/${place})
endfunction()

set(CM_CASE_LINKS s,cases/demo/,examples/,g s,cases/tutorial,examples/tutorial,g)
cm_document(README.md README.md ${CM_CASE_LINKS} "s,(docs/,(,g" "s,(LICENSE),(copyright)," 
  "s/.DEVELOPERS.md.(DEVELOPERS.md) for contributors · //")
file(GLOB_RECURSE CM_PAGES_OF_DOCS RELATIVE ${PROJECT_SOURCE_DIR}/docs CONFIGURE_DEPENDS docs/*.md)
foreach(page ${CM_PAGES_OF_DOCS})
  cm_document(docs/${page} ${page} "s,(../README.md,(README.md,g" "s,(../cases/,(cases/,g" ${CM_CASE_LINKS})
endforeach()
file(GLOB CM_EXAMPLES RELATIVE ${PROJECT_SOURCE_DIR}/cases CONFIGURE_DEPENDS cases/demo/* cases/tutorial/*)
foreach(example ${CM_EXAMPLES})
  string(REGEX REPLACE "^demo/" "" place ${example})
  string(REGEX REPLACE "^tutorial/.*" "../" up ${place})
  if(up STREQUAL place)
    set(up "")
  endif()
  cm_document(cases/${example} examples/${place} "s,\$schema=../schema.json,$schema=${up}${CM_SCHEMA_LINK},")
endforeach()
get_property(CM_DOCUMENT_FILES GLOBAL PROPERTY CM_DOCUMENT_FILES)
add_custom_target(documents ALL DEPENDS ${CM_DOCUMENT_FILES})

# ---- installing ----

install(TARGETS countermass RUNTIME COMPONENT program)
install(FILES ${CM_PAGES}/countermass.1.gz DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program)
install(FILES ${CM_PAGES}/countermass DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions
  COMPONENT program)
install(FILES cases/schema.json DESTINATION ${CMAKE_INSTALL_DATADIR}/countermass RENAME case-schema.json
  COMPONENT program)
install(DIRECTORY ${CM_DOCUMENTS}/ docs/pictures DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(FILES ${CM_PAGES}/_countermass DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/site-functions COMPONENT plain)
install(FILES cmake/copyright DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT plain)

install(TARGETS libcountermass EXPORT shared
  LIBRARY COMPONENT library NAMELINK_COMPONENT development)
install(TARGETS libcountermass_static EXPORT static ARCHIVE COMPONENT development)
install(DIRECTORY include/ DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT development FILES_MATCHING PATTERN *.h)
install(DIRECTORY tests/consumer/ DESTINATION ${CMAKE_INSTALL_DATADIR}/doc/libcountermass-dev/examples
  COMPONENT development PATTERN *.sh EXCLUDE PATTERN same_numbers.py EXCLUDE)

include(CMakePackageConfigHelpers)
set(CM_CONFIG_DIR ${CMAKE_INSTALL_LIBDIR}/cmake/countermass)
configure_package_config_file(cmake/countermassConfig.cmake.in countermassConfig.cmake
  INSTALL_DESTINATION ${CM_CONFIG_DIR})
configure_file(cmake/countermassConfigVersion.cmake.in countermassConfigVersion.cmake @ONLY)
foreach(part shared static)
  install(EXPORT ${part} NAMESPACE countermass:: DESTINATION ${CM_CONFIG_DIR} COMPONENT development
    FILE countermass-${part}.cmake)
endforeach()
install(FILES ${PROJECT_BINARY_DIR}/countermassConfig.cmake ${PROJECT_BINARY_DIR}/countermassConfigVersion.cmake
  DESTINATION ${CM_CONFIG_DIR} COMPONENT development)

# The .pc file finds the rest from where it stands, unless a folder was given as an absolute path.
if(IS_ABSOLUTE ${CMAKE_INSTALL_LIBDIR})
  set(CM_PC_PREFIX ${CMAKE_INSTALL_PREFIX})
else()
  file(RELATIVE_PATH CM_PC_UP /${CMAKE_INSTALL_LIBDIR}/pkgconfig /)
  set(CM_PC_PREFIX \${pcfiledir}/${CM_PC_UP})
endif()
foreach(folder INCLUDEDIR LIBDIR)
  if(IS_ABSOLUTE ${CMAKE_INSTALL_${folder}})
    set(CM_PC_${folder} ${CMAKE_INSTALL_${folder}})
  else()
    set(CM_PC_${folder} \${prefix}/${CMAKE_INSTALL_${folder}})
  endif()
endforeach()
# Static OpenBLAS needs Fortran's library; quadmath goes with it where the compiler has it.
find_library(CM_QUADMATH NAMES libquadmath.a libquadmath.so.0 HINTS ${CMAKE_C_IMPLICIT_LINK_DIRECTORIES})
set(CM_PC_FORTRAN -lgfortran)
if(CM_QUADMATH)
  string(APPEND CM_PC_FORTRAN " -lquadmath")
endif()
list(GET BLAS_LIBRARY_DIRS 0 CM_BLAS_DIR)
configure_file(cmake/countermass.pc.in countermass.pc @ONLY)
install(FILES ${PROJECT_BINARY_DIR}/countermass.pc DESTINATION ${CMAKE_INSTALL_LIBDIR}/pkgconfig
  COMPONENT development)
