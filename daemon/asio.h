// The parts of Boost.Asio that the event loop uses. For sources only, never for headers: it is
// heavy.
#pragma once

// One thread runs the loop, so handlers need no fences between threads; and the thread sanitizer
// does not understand those fences.
#define BOOST_ASIO_DISABLE_FENCED_BLOCK

// clang-format off
#include <utility>  // first: the headers of 1.74 use std::exchange without including it
// clang-format on

#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>

namespace foundling {

namespace asio = boost::asio;

}  // namespace foundling
