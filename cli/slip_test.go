package cli

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// What the review reports of slip, in words and for machines: slip that was read is the strongest
// evidence, estimated slip comes with its uncertainty, and without a ratio that was held there is
// nothing to report.
func TestReview_Slip(t *testing.T) {
	r := session.Result{
		Duration: 10 * time.Minute,
		Slip: []slip.Swing{
			{Start: 100 * time.Second, End: 103 * time.Second, SwingRPM: 91.26, MeanRPM: 40, WantedRPM: 20, Readings: 30},
			{Start: 200 * time.Second, End: 202 * time.Second, SwingRPM: 110, MeanRPM: 62, WantedRPM: math.NaN(), Readings: 20, ApparentRPM: 15},
		},
		Apparent: []slip.Stretch{
			{Start: 199 * time.Second, End: 205 * time.Second, MeanRPM: 55, HighRPM: 70, PlusMinusRPM: 14, GearKnown: true},
			{Start: 300 * time.Second, End: 304 * time.Second, MeanRPM: 30, HighRPM: 33, PlusMinusRPM: 16},
		},
		Locked: []slip.LockedRatio{{RPMPerKMH: 21.2512, Held: 5 * time.Minute}},
	}
	var text strings.Builder
	if err := printText(&text, "x", &r, prose.PageWidth, true); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"0:01:40 converter slip swung 91 rpm peak to peak about 40 rpm, 3.0 s; the strongest evidence",
		"0:03:20 estimated slip swung 110 rpm peak to peak about 62 ± 15 rpm, 2.0 s",
		"5:00 min 2125 rpm at 100 km/h", "10 s estimated slip, up to 70 ± 14 rpm",
	} {
		if !strings.Contains(unwrapped(text.String()), want) {
			t.Errorf("%q is missing in\n%s", want, text.String())
		}
	}
	b, err := json.Marshal(reportOf("x", &r))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`"swing_rpm":91.3,"mean_rpm":40,"wanted_rpm":20,"readings":30}`, `"readings":20,"apparent_plus_minus_rpm":15}`,
		`"locked_ratios":[{"rpm_per_kmh":21.25,"held_s":300}]`,
		`{"start_s":300,"end_s":304,"mean_rpm":30,"highest_rpm":33,"plus_minus_rpm":16,"gear_known":false}`,
	} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%s is missing in\n%s", want, b)
		}
	}
	text.Reset()
	if err := printText(&text, "x", &session.Result{}, prose.PageWidth, true); err != nil || strings.Contains(text.String(), "slip") {
		t.Errorf("%v: %s", err, text.String())
	}
	if b, err := json.Marshal(reportOf("x", &session.Result{})); err != nil || strings.Contains(string(b), "slip") {
		t.Errorf("%v: %s", err, b)
	}
}

// unwrapped is a text with its lines joined where they were broken between words.
func unwrapped(text string) string { return strings.Join(strings.Fields(text), " ") }
