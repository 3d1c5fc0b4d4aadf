# SPDX-License-Identifier: GPL-3.0-or-later
# cmake -D OUT=FILE -P embed.cmake: the pages, styles and scripts of this folder as
# one table in C, by name.
file(GLOB names RELATIVE ${CMAKE_CURRENT_LIST_DIR} ${CMAKE_CURRENT_LIST_DIR}/*.html
     ${CMAKE_CURRENT_LIST_DIR}/*.css ${CMAKE_CURRENT_LIST_DIR}/*.js)
list(SORT names)
set(code "#include \"page_fill.h\"\n\n")
set(table "")
foreach(name ${names})
  string(MAKE_C_IDENTIFIER ${name} id)
  file(READ ${CMAKE_CURRENT_LIST_DIR}/${name} bytes HEX)
  string(REGEX REPLACE "(..)" "'\\\\x\\1'," bytes "${bytes}")
  string(REGEX REPLACE "('...0a',)" "\\1\n" bytes "${bytes}")
  string(APPEND code "static const char ${id}[] = {\n${bytes}0};\n\n")
  string(APPEND table "    {\"${name}\", ${id}},\n")
endforeach()
file(WRITE ${OUT} "${code}const page_file page_files[] = {\n${table}    {0, 0},\n};\n")
