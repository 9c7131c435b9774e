# SPDX-License-Identifier: MIT
# Writes a C file that holds text files as bytes, each with its digest for a content security policy.
#
#   cmake -DOUTPUT=FILE -DFOLDER=FOLDER -P embed.cmake
#
# Names follow the files: try.js becomes CM_TRY_JS.

set(ALPHABET "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/")

# Base64 of hexadecimal digits, three bytes (six digits) at a time; the last bytes of a digest are two.
function(base64_of hex result)
  set(text "")
  string(LENGTH "${hex}" length)
  math(EXPR last "${length} - 1")
  foreach(at RANGE 0 ${last} 6)
    string(SUBSTRING "${hex}00" ${at} 6 group)
    foreach(shift 18 12 6 0)
      math(EXPR letter "(0x${group} >> ${shift}) & 63")
      string(SUBSTRING "${ALPHABET}" ${letter} 1 letter)
      string(APPEND text "${letter}")
    endforeach()
  endforeach()
  string(REGEX REPLACE ".$" "=" text "${text}") # 32 bytes leave one place over
  set(${result} "${text}" PARENT_SCOPE)
endfunction()

set(out "/* Written by cmake/embed.cmake. */\n#include \"page/assets.h\"\n")
foreach(file drawing.css report.css try.js)
  file(READ ${FOLDER}/${file} hex HEX)
  file(SHA256 ${FOLDER}/${file} digest)
  base64_of("${digest}" base64)
  string(TOUPPER "CM_${file}" name)
  string(REPLACE "." "_" name "${name}")
  string(REGEX REPLACE "(................................)" "\\1\n" hex "${hex}")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
  string(APPEND out "\nstatic const unsigned char ${name}_BYTES[] = {\n${bytes}\n};\n"
    "const cm_asset ${name} = {${name}_BYTES, sizeof ${name}_BYTES, \"sha256-${base64}\"};\n")
endforeach()
file(WRITE ${OUTPUT} "${out}")
