# Two Debian packages, `foundling` and `foundlingd`, made by tools/package/build.sh.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME foundling)
set(CPACK_PACKAGE_VERSION ${PROJECT_VERSION})
set(CPACK_PACKAGE_CONTACT "Foundling <foundling@localhost>")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_COMPONENTS_ALL tool recorder)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_TOOL_PACKAGE_NAME foundling)
set(CPACK_DEBIAN_TOOL_PACKAGE_SECTION electronics)
set(CPACK_DEBIAN_TOOL_PACKAGE_RECOMMENDS foundlingd)
set(CPACK_COMPONENT_TOOL_DESCRIPTION
  "finds out what an orphaned battery board says on its CAN bus
Surveys a recorded CAN bus, finds the fields that respond to what was applied on
the bench, writes them down as a signal map, checks it against a second session,
and turns recordings and the live bus into numbers with names and units. It
listens and never sends by itself; what it decodes is unverified until checked,
and protects nothing.")
set(CPACK_DEBIAN_RECORDER_PACKAGE_NAME foundlingd)
set(CPACK_DEBIAN_RECORDER_PACKAGE_SECTION electronics)
set(CPACK_DEBIAN_RECORDER_PACKAGE_DEPENDS passwd)
set(CPACK_DEBIAN_RECORDER_PACKAGE_SUGGESTS foundling)
set(CPACK_COMPONENT_RECORDER_DESCRIPTION
  "records CAN interfaces into a capture without losing a frame unseen
The recorder of Foundling, with its service unit and unprivileged user: every
frame with the kernel's receive time into one SQLite file, losses counted and
stored too, whole after a power cut. It only listens.")
set(package_scripts ${CMAKE_CURRENT_LIST_DIR})
set(CPACK_DEBIAN_RECORDER_PACKAGE_CONTROL_EXTRA
  ${package_scripts}/postinst;${package_scripts}/prerm;${package_scripts}/postrm)
# The same bytes from every build: files get the time of the source.
set(CPACK_PRE_BUILD_SCRIPTS ${package_scripts}/same_times.cmake)
include(CPack)
