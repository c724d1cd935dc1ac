# SPDX-License-Identifier: GPL-3.0-or-later
# What one file of a static library offers to the next is offered to the program too, and a function of
# the program that happens to have that name would take its place, in silence.  So the names that no
# header declares get the library's own prefix in the copy that is installed.
#   cmake -D LIBRARY=FILE -D NM=PROGRAM -D OBJCOPY=PROGRAM -P own_names.cmake
execute_process(COMMAND ${NM} -g --defined-only --format=posix ${LIBRARY}
    OUTPUT_VARIABLE listed COMMAND_ERROR_IS_FATAL ANY)
# not the headings of the files, nor what the compiler and C++ have between files
string(REGEX MATCHALL "(^|\n)[A-Za-z][A-Za-z0-9_.]* [A-Zi]" lines "${listed}")
set(names "")
foreach(line IN LISTS lines)
    string(REGEX REPLACE "^\n?([^ ]+) .*$" "\\1" name "${line}")
    if(NOT name MATCHES "^shot_")
        string(APPEND names "${name} shot_own_${name}\n")
    endif()
endforeach()
if(names)
    file(WRITE ${LIBRARY}.names "${names}")
    execute_process(COMMAND ${OBJCOPY} --redefine-syms=${LIBRARY}.names ${LIBRARY}
        COMMAND_ERROR_IS_FATAL ANY)
    file(REMOVE ${LIBRARY}.names)
endif()
