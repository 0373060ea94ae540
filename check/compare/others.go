package compare

import (
	"fmt"
	"strings"

	"github.com/judder-obd/judder/check"
)

// others are the changes of one ECU in all but its codes: what a repair, a new program or a
// clearing moves. What either check did not read is left out.
func others(was, is *check.ECU) (out []Change) {
	add := func(item, a, b string) {
		if a != "" && b != "" && a != b {
			out = append(out, Change{ECU: is.ID, Name: is.Label(), Item: item, What: Changed, Was: a, Is: b})
		}
	}
	if n := shown(was.VIN, is.VIN); was.VIN[:n] != is.VIN[:n] {
		add("VIN", was.VIN, is.VIN)
	}
	add("malfunction lamp", lamp(was), lamp(is))
	if !was.Missing(check.ItemCalibrations) && !is.Missing(check.ItemCalibrations) {
		add("calibration", strings.Join(was.Calibrations, ", "), strings.Join(is.Calibrations, ", "))
	}
	if !was.Missing(check.ItemCVNs) && !is.Missing(check.ItemCVNs) {
		add("calibration verification", strings.Join(was.CVNs, ", "), strings.Join(is.CVNs, ", "))
	}
	add("part number", was.PartNumber, is.PartNumber)
	a, b := ofBoth(was.Cleared, is.Cleared)
	add("since codes were cleared", a.Text(), b.Text())
	if was.FreezeState.Kind == check.Read && is.FreezeState.Kind == check.Read {
		add("freeze frames", frozenText(frozen(was)), frozenText(frozen(is)))
	}
	for _, m := range is.Readiness {
		for _, old := range was.Readiness {
			if old.Name == m.Name {
				add("self-test "+m.Name, completeText(old.Complete), completeText(m.Complete))
			}
		}
	}
	for i := range is.Tests {
		t := &is.Tests[i]
		for k := range was.Tests {
			if old := &was.Tests[k]; old.ID == t.ID {
				add(testName(t), testText(old), testText(t))
			}
		}
	}
	return out
}

// ofBoth leaves of two counts since clearing what both checks read.
func ofBoth(was, is *check.Cleared) (a, b *check.Cleared) {
	if was == nil || is == nil {
		return nil, nil
	}
	x, y := *was, *is
	for _, f := range [][2]**float64{{&x.KM, &y.KM}, {&x.Minutes, &y.Minutes}, {&x.WarmUps, &y.WarmUps}} {
		if *f[0] == nil || *f[1] == nil {
			*f[0], *f[1] = nil, nil
		}
	}
	return &x, &y
}

// lamp is the state of the malfunction lamp as compared; "" when it was not read.
func lamp(e *check.ECU) string {
	switch {
	case e.Lamp == nil:
		return ""
	case *e.Lamp:
		return "ON"
	}
	return "off"
}

// frozen are the codes of the freeze frames.
func frozen(e *check.ECU) (codes []string) {
	for _, f := range e.Freezes {
		codes = append(codes, f.Code)
	}
	return codes
}

func frozenText(codes []string) string {
	if codes == nil {
		return "none"
	}
	return strings.Join(codes, ", ")
}

func completeText(done bool) string {
	if done {
		return "complete"
	}
	return "not complete"
}

func testName(t *check.TestResult) string {
	if t.Test == "" {
		return t.Monitor
	}
	return t.Monitor + ", " + t.Test
}

// testText is a result as compared: of a count its number, of the rest whether it passed.
func testText(t *check.TestResult) string {
	if t.Unlimited() {
		return fmt.Sprintf("%.0f", t.Value)
	}
	return string(t.Outcome)
}
