// Package bench measures the detector: drives with known truth, read at several rates, and
// the figures that follow, each with an exact 95 % interval.
//
// Two worlds keep the detector from being fitted to one: a car by formula (formula.go) and
// the simulated car of simcar/drivetrain (physics.go). The table is printed by
//
//	go test -v ./detect/bench -run Table -table
//
// with -rate, -drives, -world, -uneven, -show and -save to narrow or widen it, and with
// -change "name=value,…;…" for a table a variant: what each mask, floor or price is worth
// (names in detect/variant.go). Seeds below 100000 are for tuning; measuring takes seeds
// from 500000 up, and a seed once reported is not measured with again.
//
// With JUDDER_DRIVES set to a folder of real drives, TestAddedSwings adds known swings to a
// real minute and reports how many are found.
//
// Tried in the detector and left out, with figures from here: a price for aliases lowered by how much
// better the wave fits than its alias (at 5 readings a second 1 to 4 % more found, false alarms from
// 0.23 to 0.50 an hour); asking at uneven times (no gain at 5 a second with bundles); averaging
// readings that are close, at 20 a second (more false alarms); a throttle range of 4 %.
package bench
