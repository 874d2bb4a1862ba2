// Package trade holds the table of what goes wrong at a bench, and tests that
// show each row of it prevented or caught, with the guards, a job and its
// results, and no port, journal or screen. The table is in its tests.
package trade
