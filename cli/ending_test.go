package cli

import (
	"bytes"
	"strings"
	"testing"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session"
)

// After a drive on the screen the shell has the finding, where it is recorded and what to do next,
// in twenty lines at most. A drive of which nothing was kept is an error.
func TestEndingInTheShell(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	e := &env{out: &out, raw: &out}
	l := &live{flags: &sessionFlags{}, out: "drive.jsonl"}
	r := session.Result{Verdict: detect.Verdict{Finding: detect.Shudder, Reason: "twice"}, Events: []detect.Event{{SwingRPM: 117}, {SwingRPM: 90}}, Marks: []session.Mark{{At: 0}}}
	if err := l.sayEnding(e, &r, &session.Outcome{Recorded: 9}); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	if n := strings.Count(text, "\n"); n > 20 || n < 8 {
		t.Errorf("%d lines", n)
	}
	for _, want := range []string{r.Verdict.Finding.String(), "117 rpm", "drive.jsonl"} {
		if !strings.Contains(strings.ToLower(text), want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if l.sayEnding(e, &r, &session.Outcome{}) == nil {
		t.Error("nothing was recorded, and nobody is told")
	}
}
