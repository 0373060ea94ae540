package cli

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/recording"
)

// openable reports whether a file is the recording of a session. The error is that of a file in which
// nothing can be compared, whatever it is.
func openable(path string) (isRecording bool, err error) {
	r, err := recording.Open(path)
	switch {
	case err == nil:
		return true, r.Close()
	case errors.Is(err, recording.ErrEmpty):
		return false, fmt.Errorf("there is nothing in %s: give two drives, or two code checks", path)
	case errors.Is(err, recording.ErrNotRecording):
		return false, nil
	}
	return false, err
}

// sameFile reports whether two names lead to the same file.
func sameFile(a, b string) bool {
	one, err := os.Stat(a)
	if err != nil {
		return false
	}
	two, err := os.Stat(b)
	return err == nil && os.SameFile(one, two)
}

// pairDoubt is why two recordings may not be a drive before a repair and one after it.
type pairDoubt string

// The doubts, as in JSON; "" for none.
const (
	sameDrive     pairDoubt = "same drive"
	orderReversed pairDoubt = "order reversed"
	noDate        pairDoubt = "no date"
	twoCars       pairDoubt = "two cars"
)

// doubtOf looks at the cars and dates of two drives and, where these leave it open whether it is one drive,
// at their readings.
func doubtOf(before, after *driveOf, found session.PairFinding) (pairDoubt, error) {
	if found == session.TwoCars {
		return twoCars, nil
	}
	one, two := before.result.Recorded.At, after.result.Recorded.At
	dated := !one.IsZero() && !two.IsZero()
	if dated && one.Equal(two) {
		return sameDrive, nil
	}
	const apart = time.Minute // an imported drive begins with its first reading
	if !dated || one.Sub(two).Abs() < apart {
		same, err := sameReadings(before.file, after.file)
		if err != nil || same {
			return sameDrive, err
		}
	}
	switch {
	case !dated:
		return noDate, nil
	case found == session.Reversed:
		return orderReversed, nil
	}
	return "", nil
}

// words are the doubt's line on the page of two drives; "" for none.
func (d pairDoubt) words(before, after *driveOf) string {
	switch d {
	case sameDrive:
		return "  SAME DRIVE both recordings hold it: give the drive after the repair second\n"
	case twoCars:
		return "  CARS       the recordings name two identification numbers: give two drives of one car\n"
	case orderReversed:
		return "  ORDER      the second drive is the earlier one: give the drive before the repair first\n"
	case noDate:
		which := "neither drive has a date"
		switch {
		case !before.result.Recorded.At.IsZero():
			which = "the second drive has no date"
		case !after.result.Recorded.At.IsZero():
			which = "the first drive has no date"
		}
		return "  ORDER      " + which + ": make sure that the first is from before the repair\n"
	}
	return ""
}

// fewestAlike is how many readings of engine speed must be alike before two recordings are thought to hold
// one drive. Our own choice: an engine that runs never turns alike twice for so long.
const fewestAlike = 50

// sameReadings reports whether two recordings hold the readings of one drive, or one the beginning of the
// other's.
func sameReadings(a, b string) (bool, error) {
	one, err := engineSpeeds(a)
	if err != nil {
		return false, err
	}
	two, err := engineSpeeds(b)
	if err != nil {
		return false, err
	}
	return alike(one, two), nil
}

func alike(one, two []float64) bool {
	n := min(len(one), len(two))
	if n < fewestAlike {
		return false
	}
	varies := false
	for i := range n {
		if d := one[i] - two[i]; d > 0.01 || d < -0.01 {
			return false
		}
		varies = varies || one[i] != one[0]
	}
	return varies // an engine that is off turns alike in every drive
}

// engineSpeeds are the readings of engine speed in a recording.
func engineSpeeds(path string) ([]float64, error) {
	samples, _, _, err := session.Readings(path)
	var rpm []float64
	for i := range samples {
		if samples[i].Signal == pids.RPM {
			rpm = append(rpm, samples[i].Value)
		}
	}
	return rpm, err
}
