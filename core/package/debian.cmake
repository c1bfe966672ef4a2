# `cpack -G DEB` in a build folder: one Debian package with the command, the library, plugins, header and documents.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME heatledger)
set(CPACK_PACKAGE_VENDOR "heatledger")
set(CPACK_PACKAGE_CONTACT "heatledger maintainers <maintainers@heatledger.invalid>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "where the lost watts of a mains adapter go, and how hot it gets")
set(CPACK_PACKAGE_DESCRIPTION
"Describe an opened mains adapter by its parts and how they are joined: heatledger
solves the waveforms of every stage, books every lost watt to a part and a
mechanism, follows it to the surface of the case, and says what gives way first.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION electronics)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_RELEASE 1)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS_PRIVATE_DIRS ${PROJECT_BINARY_DIR}/lib)
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS gnuplot-nox)            # curves of the report; without it their tables stand alone
set(CPACK_DEBIAN_PACKAGE_SUGGESTS "lua5.4, cmake, pkg-config") # scripts outside the command, plugins of one's own
set(CPACK_STRIP_FILES ON)
find_program(GZIP_PROGRAM gzip)
set(changelog ${PROJECT_BINARY_DIR}/share/changelog.gz)
if(GZIP_PROGRAM)
  execute_process(COMMAND ${GZIP_PROGRAM} -9nc ${PROJECT_SOURCE_DIR}/docs/CHANGELOG.md OUTPUT_FILE ${changelog})
  install(FILES ${changelog} DESTINATION ${CMAKE_INSTALL_DOCDIR})
endif()
install(FILES ${PROJECT_SOURCE_DIR}/LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR} RENAME copyright)
# The library lies in the linker's own folder: its cache is renewed when the package comes and goes.
file(WRITE ${PROJECT_BINARY_DIR}/debian/triggers "activate-noawait ldconfig\n")
set(CPACK_DEBIAN_PACKAGE_CONTROL_EXTRA ${PROJECT_BINARY_DIR}/debian/triggers)
include(CPack)
