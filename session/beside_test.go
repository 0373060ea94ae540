package session

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect"
)

// Marks made at the bench are kept beside the recording, which stays as it is, and are there when it
// is opened again.
func TestBeside(t *testing.T) {
	path := shuddering(t)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	open := func() *Replay {
		t.Helper()
		r, err := OpenReplay(path, 1)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := open()
	r.Seek(90 * time.Second)
	r.Note("bridge")
	r.Seek(60 * time.Second)
	r.Felt()
	r.Felt()
	if m, ok := r.TakeBack(); !ok || m.At != 60*time.Second {
		t.Errorf("took back %v, %v", m.At, ok)
	}
	r = open()
	s := stateOf(r)
	if m := s.Replay.Marks; len(m) != 2 || m[0] != (Mark{At: 60 * time.Second, Strength: 1, Outcome: NotJudged, Why: detect.OutsideBand}) || m[1] != (Mark{At: 90 * time.Second, Note: "bridge"}) {
		t.Errorf("marks %+v", m)
	}
	if len(s.Marks) != 0 || s.Replay.MarksTrouble != "" {
		t.Errorf("at the start marks %+v, trouble %q", s.Marks, s.Replay.MarksTrouble)
	}
	r.Seek(70 * time.Second)
	if s = stateOf(r); len(s.Marks) != 1 {
		t.Errorf("at 70 s marks %+v", s.Marks)
	}
	review, err := Review(path)
	if err != nil || len(review.Marks) != 2 || review.Marks[0].Outcome != NotJudged || !strings.Contains(review.Headline.Reason, "felt once") {
		t.Errorf("review: %v %+v %+v", err, review.Marks, review.Headline)
	}
	after, err := os.ReadFile(path)
	if err != nil || string(after) != string(before) {
		t.Errorf("the recording was changed (%v)", err)
	}
	r.TakeBack()
	r.TakeBack()
	if _, ok := r.TakeBack(); ok {
		t.Error("took back more marks than there are")
	}
}

// A file of marks that cannot be read is not written over.
func TestBeside_Unreadable(t *testing.T) {
	for _, text := range []string{"{", `{"version": 2, "marks": []}`, "[]"} {
		path := shuddering(t)
		if err := os.WriteFile(path+BesideEnd, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := OpenReplay(path, 1)
		if err != nil {
			t.Fatal(err)
		}
		r.Felt()
		if s := stateOf(r); len(s.Marks) != 1 || !strings.Contains(s.Replay.MarksTrouble, "drive.jsonl.marks") {
			t.Errorf("%s: marks %+v, trouble %q", text, s.Marks, s.Replay.MarksTrouble)
		}
		if kept, err := os.ReadFile(path + BesideEnd); err != nil || string(kept) != text {
			t.Errorf("%s: became %s (%v)", text, kept, err)
		}
	}
}

// Marks that cannot be read, torn or of another version, leave no drive without shudder: it may have been
// felt. The review and the replay say so.
func TestBeside_Unread(t *testing.T) {
	quiet, err := os.ReadFile(filepath.Join("..", "fixtures", "case", "drives", "judder-2026-11-24-101219.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "quiet.jsonl")
	if err := os.WriteFile(path, quiet, 0o600); err != nil {
		t.Fatal(err)
	}
	if r, err := Review(path); err != nil || r.Headline.Rule != Quiet {
		t.Fatalf("%v %+v", err, r.Headline)
	}
	for _, text := range []string{"", `{"version":1,"marks":[{"at_s":3`, `{"version":7,"marks":[]}`} {
		if err := os.WriteFile(path+BesideEnd, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		r, err := Review(path)
		if err != nil || r.Verdict.Finding != detect.CannotTell || !strings.Contains(r.Verdict.Reason, "cannot be read") {
			t.Errorf("%q: %v %+v", text, err, r.Headline)
		}
		p, err := OpenReplay(path, 1)
		if err != nil {
			t.Fatal(err)
		}
		if h := p.Whole().Headline; h != r.Headline {
			t.Errorf("%q: the replay has %+v", text, h)
		}
		p.Seek(p.Whole().Duration)
		if s := stateOf(p); s.Headline.Finding != detect.CannotTell {
			t.Errorf("%q: at the end of the replay %+v", text, s.Headline)
		}
	}
}
