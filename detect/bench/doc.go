// Package bench measures the detector: drives with known truth, read at several rates, and
// the figures that follow, each with an exact interval.
package bench
