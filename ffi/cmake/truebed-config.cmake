# find_package(truebed) gives two targets: truebed::truebed, the shared library, and
# truebed::static. The files are looked for beside this one, so that the whole may be moved.
get_filename_component(_truebed_prefix "${CMAKE_CURRENT_LIST_DIR}/../../.." ABSOLUTE)
foreach(_truebed_lib lib lib64 "lib/${CMAKE_LIBRARY_ARCHITECTURE}")
    set(_truebed_lib "${_truebed_prefix}/${_truebed_lib}")
    if(EXISTS "${_truebed_lib}/libtruebed.so" AND NOT TARGET truebed::truebed)
        add_library(truebed::truebed SHARED IMPORTED)
        set_target_properties(truebed::truebed PROPERTIES
            IMPORTED_LOCATION "${_truebed_lib}/libtruebed.so"
            INTERFACE_INCLUDE_DIRECTORIES "${_truebed_prefix}/include")
    endif()
    if(EXISTS "${_truebed_lib}/libtruebed.a" AND NOT TARGET truebed::static)
        add_library(truebed::static STATIC IMPORTED)
        set_target_properties(truebed::static PROPERTIES
            IMPORTED_LOCATION "${_truebed_lib}/libtruebed.a"
            IMPORTED_LINK_INTERFACE_LANGUAGES C
            INTERFACE_INCLUDE_DIRECTORIES "${_truebed_prefix}/include"
            INTERFACE_LINK_LIBRARIES "util;rt;pthread;m;dl")
    endif()
endforeach()
unset(_truebed_lib)
unset(_truebed_prefix)
if(NOT TARGET truebed::truebed AND NOT TARGET truebed::static)
    set(truebed_FOUND FALSE)
    set(truebed_NOT_FOUND_MESSAGE "neither libtruebed.so nor libtruebed.a is where this file is")
endif()
