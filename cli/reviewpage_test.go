package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/steps"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
)

// What others rely on in review --json, read without judder's types: names and kinds as in
// docs/review.md.
func TestReviewJSON_Contract(t *testing.T) {
	path := shaken(t, "bridge")
	code, stdout, stderr := judder(t, "review", "--json", "--complaint", "60-75 km/h light warm", path)
	if code != exitOK {
		t.Fatal(stderr)
	}
	var got map[string]any
	if err := json.Unmarshal([]byte(stdout), &got); err != nil {
		t.Fatal(err)
	}
	if got["version"] != 1. || got["program"] != "judder test" || got["verdict"] != "shudder" {
		t.Errorf("version %v, program %v, verdict %v", got["version"], got["program"], got["verdict"])
	}
	if at, err := time.Parse(time.RFC3339, got["recorded_at"].(string)); err != nil || at.Year() != 2026 {
		t.Errorf("recorded at %v", got["recorded_at"])
	}
	if want := map[string]any{"from_kmh": 60., "to_kmh": 75., "load": "light", "engine": "warm"}; !reflect.DeepEqual(got["complaint"], want) {
		t.Errorf("complaint %v", got["complaint"])
	}
	passes := got["passes"].([]any)
	if len(passes) == 0 {
		t.Fatalf("no passes in %s", stdout)
	}
	shuddered := 0
	for _, x := range passes {
		p := x.(map[string]any)
		if p["end_s"].(float64)-p["start_s"].(float64) < 8 || p["speed_kmh"] != 70. || p["load_pct"] != 30. || p["in_complaint"] != true {
			t.Errorf("pass %v", p)
		}
		if p["shudder"].(bool) {
			shuddered++
		}
	}
	if shuddered != 1 {
		t.Errorf("%d passes with shudder in %v", shuddered, passes)
	}
	felt := got["felt"].([]any)
	if want := map[string]any{"at_s": 62., "lasted_s": 0., "strength": 1., "blind": false, "outcome": "seen"}; len(felt) != 1 || !reflect.DeepEqual(felt[0], want) {
		t.Errorf("felt %v, want %v", felt, want)
	}
	if first := got["shudder"].([]any)[0].(map[string]any); first["number"] != 1. {
		t.Errorf("shudder %v", first)
	}
	for _, key := range []string{"headline", "need", "coverage_by_load", "marks", "coverage", "masks"} {
		if got[key] == nil {
			t.Errorf("no %s", key)
		}
	}
}

// A recording without complaint, marks or passes has empty lists, not none.
func TestReviewJSON_Empty(t *testing.T) {
	line, err := json.Marshal(reportOf("", &session.Result{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"version":1`, `"passes":[]`, `"felt":[]`, `"steps":[]`, `"contrasts":[]`, `"causes":[{`} {
		if !strings.Contains(string(line), want) {
			t.Errorf("%s is missing in %s", want, line)
		}
	}
	for _, not := range []string{"recorded_at", `"complaint"`, `"blind"`} {
		if strings.Contains(string(line), not) {
			t.Errorf("%s in %s", not, line)
		}
	}
}

// A figure of zero is in the JSON, one that was not read is not: at 0 °C it froze, and nobody forgot to read.
func TestReviewJSON_Zero(t *testing.T) {
	nan := math.NaN()
	r := session.Result{
		Events: []detect.Event{{SpeedKMH: 62, LoadPct: nan, ThrottlePct: 0, CoolantC: 0}},
		Passes: []session.Pass{{SpeedKMH: 62, LoadPct: 0, ThrottlePct: nan, CoolantC: nan}},
		Steps:  []steps.Step{{Kind: steps.ParkSweep, BeforeRPM: nan, AfterRPM: 0, SpeedKMH: 0}},
	}
	line, err := json.Marshal(reportOf("", &r))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"throttle_pct":0,"coolant_c":0`, `"speed_kmh":62,"load_pct":0,"in_complaint"`, `"swing_after_rpm":0,"speed_kmh":0`} {
		if !strings.Contains(string(line), want) {
			t.Errorf("%s is missing in %s", want, line)
		}
	}
	for _, not := range []string{"limit_rpm", "floor_rpm", "smallest_swing_rpm", "readings_per_s", "swing_before_rpm"} {
		if strings.Contains(string(line), not) {
			t.Errorf("%s in %s", not, line)
		}
	}
}

// crowded is a drive in which everything happened.
func crowded(shudders int) session.Result {
	box := complaint.Box{FromKMH: 60, ToKMH: 70, Load: complaint.Light, Engine: complaint.Warm, Gear: 4}
	r := session.Result{
		Duration: 12 * time.Minute, Complaint: box, Rate: 25.4, Damage: "ended abruptly", Recorded: session.Recorded{At: time.Date(2026, 11, 29, 10, 12, 0, 0, time.UTC)},
		Headline: session.Headline{Word: "SHUDDER SEEN 12 TIMES; LOCK-UP CYCLING ONCE; MISFIRE CODE P0304"},
		Verdict: detect.Verdict{Finding: detect.Shudder, Testable: 4 * time.Minute, SmallestRPM: 66,
			Reason: "up to 114 rpm peak to peak at 62 to 71 km/h; felt 6 times, 4 of them seen; 5 of them at 60 to 70 km/h, light load, warm, gear 4, in 5 of 6 passes there"},
		Need:         session.Need{Judged: 96 * time.Second, Passes: 6, Shudders: 5},
		Blind:        session.BlindState{Passes: 3, Judged: 90 * time.Second, Marks: 8, Hits: 7, Share: 0.21, Chance: 0.00012},
		Observations: []detect.Observation{{Start: time.Minute, Kind: detect.LockUpCycling}, {Start: 2 * time.Minute, Kind: detect.IrregularScatter}},
		Codes:        []session.Code{{At: 11 * time.Minute, ECU: "7E8", Code: "P0304"}},
		Checks:       []session.CodeCheck{{Start: 11 * time.Minute, End: 11*time.Minute + 9*time.Second}},
	}
	for i := range shudders {
		at := time.Duration(i+1) * 50 * time.Second
		r.Events = append(r.Events, detect.Event{Start: at, End: at + 2*time.Second, SwingRPM: 80 + 7*float64(i%5), Hz: []float64{2.1}, SpeedKMH: 62 + float64(i),
			LoadPct: 40, ThrottlePct: 22, CoolantC: 88, CannotTell: "a short swing: a rough patch of road or a misfire that comes only under load may look the same"})
		r.Marks = append(r.Marks, session.Mark{At: at + time.Second, Strength: 1, Outcome: session.Seen})
	}
	return r
}

// The page fits a screen of 30 lines, whatever happened, with every shudder's number that of judder
// picture; --all has every shudder.
func TestPage_Fits(t *testing.T) {
	for _, n := range []int{0, 1, 6, 12, 40} {
		r := crowded(n)
		var b, all strings.Builder
		if err := printText(&b, "drive.jsonl", &r, prose.PageWidth, false); err != nil {
			t.Fatal(err)
		}
		if err := printText(&all, "drive.jsonl", &r, prose.PageWidth, true); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
		if len(lines) > pageMost+1 {
			t.Errorf("%d shudders: %d lines\n%s", n, len(lines), b.String())
		}
		for _, l := range lines {
			if prose.Cells(l) > 80 {
				t.Errorf("%d cells: %s", prose.Cells(l), l)
			}
		}
		for i := range r.Events {
			if row := fmt.Sprintf("\n%3d%8s", i+1, prose.Clock(r.Events[i].Start)); !strings.Contains(all.String(), row) {
				t.Errorf("--all does not list shudder %d", i+1)
			} else if n <= 3 && !strings.Contains(b.String(), row) {
				t.Errorf("shudder %d of %d is not on the page", i+1, n)
			}
		}
	}
}

// The command at the end of the page is whole, whatever the file is called and however full the page is.
func TestPage_MoreIsWhole(t *testing.T) {
	r := crowded(12)
	const file = "/workshop/road tests/blue estate, order 4711, before the fluid exchange/judder-20261130-101500.jsonl"
	var b strings.Builder
	if err := printText(&b, file, &r, prose.PageWidth, false); err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(strings.Join(strings.Fields(b.String()), " "), `more judder review --all "`+file+`"`) {
		t.Errorf("\n%s", b.String())
	}
}

// After a drive without shudder nobody is sent to drive until it shows.
func TestPage_NextWhenQuiet(t *testing.T) {
	for rule, want := range map[session.HeadlineRule]string{session.Quiet: "judder compare", session.Unclear: "until it shows"} {
		r := session.Result{Headline: session.Headline{Rule: rule}}
		var b strings.Builder
		if err := printText(&b, "", &r, prose.PageWidth, true); err != nil {
			t.Fatal(err)
		}
		if text := unwrapped(b.String()); !strings.Contains(text, want) || rule == session.Quiet && strings.Contains(text, "until it shows") {
			t.Errorf("%s: no %q in\n%s", rule, want, b.String())
		}
	}
}

// A sentence that is true of many shudders is there once.
func TestPage_Once(t *testing.T) {
	r := crowded(6)
	var b strings.Builder
	if err := printText(&b, "drive.jsonl", &r, prose.PageWidth, true); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(unwrapped(b.String()), "a short swing: a rough patch of road"); n != 1 {
		t.Errorf("%d times in\n%s", n, b.String())
	}
}

// The figure for chance has all that is needed to check it by hand.
func TestBlindWords(t *testing.T) {
	got := blindWords(&session.BlindState{Passes: 3, Judged: 90 * time.Second, Marks: 8, Hits: 7, Share: 0.215, Chance: 0.00012})
	for _, want := range []string{"7 of 8 marks", "-0.5 to +3 s", "21.5 %", "1:30 min", "7 or more of 8", "0.012 %"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q does not say %q", got, want)
		}
	}
	if blindWords(&session.BlindState{}) != "" || !strings.Contains(blindWords(&session.BlindState{Passes: 1, Chance: math.NaN()}), "no figure") {
		t.Error("without marks there is no figure")
	}
}

// The table of coverage has 0 s where the complaint was not driven.
func TestCoverageLines(t *testing.T) {
	rows := []session.CoverRow{{FromKMH: 50, ToKMH: 60}, {FromKMH: 60, ToKMH: 70}, {FromKMH: 70, ToKMH: 80}, {FromKMH: 80, ToKMH: 90}}
	rows[2].Judged[session.CoverMedium] = 12 * time.Second
	got := coverageLines(&session.Coverage{Rows: rows}, complaint.Box{FromKMH: 60, ToKMH: 70})
	want := []string{
		"  usable, km/h         light    medium     heavy",
		"  60 to 70               0 s       0 s       0 s",
		"  70 to 80               0 s      12 s       0 s",
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	if got := coverageLines(&session.Coverage{Rows: rows[:2]}, complaint.Box{}); got != nil {
		t.Errorf("nothing driven: %q", got)
	}
}

// A complaint that cannot be read is an error of the command line; the recording's own is used where
// none is given.
func TestComplaintFlag(t *testing.T) {
	path := shaken(t, "bridge")
	for _, command := range []string{"review", "replay"} {
		if code, _, stderr := judder(t, command, path, "--complaint", "fast"); code != exitUsage || !strings.Contains(stderr, "60-70 km/h") {
			t.Errorf("%s: %d %s", command, code, stderr)
		}
	}
	out := path + ".2"
	if code, _, stderr := judder(t, "demo", "--headless", "--for", "10ms", "--complaint", "60-70 lightly", "--out", out); code != exitUsage {
		t.Errorf("demo: %d %s", code, stderr)
	}
	code, stdout, _ := judder(t, "review", path, "--complaint", "100-110 km/h")
	if code != exitOK || !strings.Contains(stdout, "100-110 km/h: 0.0 s usable") || !strings.Contains(unwrapped(stdout), "complaint was not met") {
		t.Errorf("%s", stdout)
	}
}

// A drive that could not show shudder is not called quiet, and a short shudder has a length.
func TestReviewPage_SeenAndLasting(t *testing.T) {
	r := session.Result{}
	if got := seenWords(&r); !strings.Contains(got, "no usable time") {
		t.Errorf("nothing usable: %q", got)
	}
	r.Verdict.Testable = 90 * time.Second
	if got := seenWords(&r); !strings.Contains(got, "1:30 min") || strings.Contains(got, "no shudder") {
		t.Errorf("no verdict: %q", got)
	}
	events := []detect.Event{{End: 400 * time.Millisecond}, {End: 3300 * time.Millisecond}}
	if got := lasting(events); got != "0.4 s to 3.3 s" {
		t.Errorf("lasting %q", got)
	}
	if got := lasting(events[:1]); got != "0.4 s" {
		t.Errorf("lasting %q", got)
	}
}

// A mark is in one row of the table: where two shudders follow each other closely, that of the later.
func TestFeltCell(t *testing.T) {
	s := time.Second
	r := session.Result{
		Events: []detect.Event{{Start: 10 * s, End: 12 * s}, {Start: 15 * s, End: 16 * s}, {Start: 40 * s, End: 41 * s}},
		Marks:  []session.Mark{{At: 15*s - 10*time.Millisecond, Strength: 1}},
	}
	if got := []string{feltCell(&r, 0), feltCell(&r, 1), feltCell(&r, 2)}; !slices.Equal(got, []string{"no", "+0.0 s", "no"}) {
		t.Errorf("%q", got)
	}
}
