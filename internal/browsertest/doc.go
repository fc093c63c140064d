// Package browsertest uses the pages as a grower does, in a real Chromium: by
// thumb, by keyboard, with and without scripts, on a phone and on a desk,
// zoomed, in the dark, on paper, and with names that are too long.
//
// One browser is started for the package; each test has a profile of its own.
// test/with-chromium.sh installs the browser where it can. Without one the
// tests are skipped; in CI, and where PINSET_REQUIRE_ALL is set, they fail.
//
// PINSET_SHOTS names a folder to which the tests write what the pages look
// like, as PNG and PDF. Nothing is written if it is not set.
package browsertest
