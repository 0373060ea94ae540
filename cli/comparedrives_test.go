package cli

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/complaint"
)

// Two recordings are compared as drives; a drive and something else is an error that says so.
func TestCompare_Drives(t *testing.T) {
	path := shaken(t, "bridge")
	code, stdout, stderr := judder(t, "compare", path, path, "--complaint", "60-75 km/h light")
	if code != exitOK || !strings.HasPrefix(stdout, "STILL THERE") || !strings.Contains(stdout, "1 of 1 pass before, 1 of 1 after") {
		t.Errorf("%d %s%s", code, stdout, stderr)
	}
	code, stdout, stderr = judder(t, "compare", "--json", path, path)
	var got struct {
		Version int
		Finding string
		Passes  map[string]float64
		Cells   []struct{ Conditions map[string]any }
	}
	if err := json.Unmarshal([]byte(stdout), &got); err != nil || code != exitOK {
		t.Fatalf("%d %v %s", code, err, stderr)
	}
	if got.Version != 1 || got.Finding != "still there" || got.Passes["passes_after"] != 1 || len(got.Cells) != 1 || got.Cells[0].Conditions["from_kmh"] != 70. {
		t.Errorf("%s", stdout)
	}
	absent := filepath.Join(t.TempDir(), "absent")
	for _, args := range [][]string{{path, absent}, {absent, path}} {
		if code, _, stderr := judder(t, append([]string{"compare"}, args...)...); code != exitFailed || !strings.Contains(stderr, "two drives") {
			t.Errorf("%v: %d %s", args, code, stderr)
		}
	}
	if code, _, stderr := judder(t, "compare", absent, absent, "--complaint", "light"); code != exitUsage {
		t.Errorf("%d %s", code, stderr)
	}
}

// Every finding has a word; what is needed and how likely chance is stand where they are asked for.
func TestPairText(t *testing.T) {
	d := driveOf{"a/before.jsonl", &session.Result{}}
	for finding := session.NothingToCompare; finding <= session.Gone; finding++ {
		p := session.Pair{Finding: finding, Table: chance.Table{Before: 5, BeforeOf: 6, AfterOf: 8}, Chance: 6. / 2002, Possible: true, More: 3, Where: complaint.Box{FromKMH: 60, ToKMH: 70}}
		text := unwrapped(pairText(&d, &d, &p))
		if w := pairWords[finding]; w.word == "" || !strings.HasPrefix(text, w.word+": "+w.means) || !strings.Contains(text, "5 of 6 passes before, 0 of 8 after") {
			t.Errorf("%v: %s", finding, text)
		}
		if has := strings.Contains(text, "3 more passes without shudder after, at 60 to 70 km/h"); has != (finding == session.NotShown) {
			t.Errorf("%v: %s", finding, text)
		}
		if has := strings.Contains(text, "chance 0.3 %"); has != (finding >= session.NotShown || finding == session.StillFelt) {
			t.Errorf("%v: %s", finding, text)
		}
	}
}

// A drive of which nothing was usable says why beside the advice to drive again.
func TestPairText_Unusable(t *testing.T) {
	usable := driveOf{"a/before.jsonl", &session.Result{Verdict: detect.Verdict{Testable: time.Minute, Reason: "fine"}}}
	none := driveOf{"a/after.jsonl", &session.Result{Verdict: detect.Verdict{Reason: "road speed was not read"}}}
	text := unwrapped(pairText(&usable, &none, &session.Pair{}))
	if !strings.Contains(text, "after.jsonl: road speed was not read") || strings.Contains(text, "fine") {
		t.Error(text)
	}
}
