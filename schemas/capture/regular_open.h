// How SQLite opens files here: regular ones only, and without waiting. A FIFO at the name of a
// capture, or of its log, would hold whoever opens it until somebody writes into it; a device may
// do anything when it is opened.
#pragma once

namespace foundling::capture_file {

// Puts it in the place of SQLite's own call, for the whole process, once.
void open_regular_files_only();

}  // namespace foundling::capture_file
