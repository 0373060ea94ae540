package cli

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/alecthomas/kong"

	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/complaint"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/tui"
)

// What is chosen on the start page is a command line that the grammar takes, and that says the same.
func TestStartArgs(t *testing.T) {
	box := complaint.Box{FromKMH: 60, ToKMH: 70, Load: complaint.Light, Engine: complaint.Warm, Gear: 6}
	for _, c := range []tui.Choice{
		{Action: tui.StartDrive, Path: "/dev/ttyUSB0", Bell: true},
		{Action: tui.StartDrive, Path: "tcp://10.0.0.7:35000", Complaint: box, Sunlight: true},
		{Action: tui.StartDemo, Complaint: box},
		{Action: tui.StartReplay, Path: "-odd name.jsonl", Bell: true, Complaint: box},
	} {
		var g grammar
		parser, err := kong.New(&g, kong.Vars{"version": ""})
		if err != nil {
			t.Fatal(err)
		}
		args := startArgs(&c)
		if _, err := parser.Parse(args); err != nil {
			t.Errorf("%q: %v", args, err)
			continue
		}
		got := tui.Choice{Action: c.Action}
		said := ""
		switch c.Action {
		case tui.StartDrive:
			got.Path, got.Bell, got.Sunlight, said = g.Drive.Port, *g.Drive.Bell, g.Drive.Sunlight, g.Drive.Complaint
		case tui.StartDemo:
			got.Bell, got.Sunlight, said = *g.Demo.Bell, g.Demo.Sunlight, g.Demo.Complaint
		case tui.StartReplay:
			got.Path, got.Bell, got.Sunlight, said = g.Replay.File, *g.Replay.Bell, g.Replay.Sunlight, g.Replay.Complaint
		}
		if said != "" {
			if got.Complaint, err = complaint.Parse(said); err != nil {
				t.Errorf("%q: %v", args, err)
			}
		}
		if got != c {
			t.Errorf("%q is %+v, chosen was %+v", args, got, c)
		}
	}
}

// The start page offers the latest recordings of drives in the folder: no raw replies of code checks, and
// nothing else that cannot be replayed.
func TestRecentRecordings(t *testing.T) {
	dir := t.TempDir()
	header := func(name string) recording.Header {
		if strings.HasPrefix(name, "judder-check-") {
			return session.ForCheck(recording.Header{})
		}
		return recording.Header{Adapter: strings.Repeat("x", 1200)}
	}
	for i, name := range []string{"old.jsonl", "a.jsonl", "b.jsonl", "c.jsonl", "d.jsonl", "e.jsonl", "f.jsonl", "g.jsonl", "new.jsonl", "judder-check-1.jsonl", "judder-check-2.jsonl", "none.jsonl", "notes.txt", "new.jsonl.marks"} {
		path := filepath.Join(dir, name)
		if strings.HasPrefix(name, "none") {
			if err := os.WriteFile(path, make([]byte, 1200), 0o600); err != nil {
				t.Fatal(err)
			}
		} else if w, err := recording.Create(path, header(name)); err != nil || w.Close("end") != nil {
			t.Fatal(err)
		}
		when := time.Date(2026, 11, 25, 9, i, 0, 0, time.UTC)
		if err := os.Chtimes(path, when, when); err != nil {
			t.Fatal(err)
		}
	}
	var names []string
	for _, r := range recentRecordings(dir) {
		if names = append(names, filepath.Base(r.Path)); r.Note != "2 kB" {
			t.Errorf("%s: %s", r.Path, r.Note)
		}
	}
	if want := []string{"new.jsonl", "g.jsonl", "f.jsonl", "e.jsonl", "d.jsonl", "c.jsonl", "b.jsonl", "a.jsonl"}; !slices.Equal(names, want) {
		t.Errorf("%q, want %q", names, want)
	}
	if list := recentRecordings(filepath.Join(dir, "none")); list != nil {
		t.Errorf("a folder that is not there holds %v", list)
	}
}

// Without a terminal judder alone prints the help.
func TestNoCommandWithoutATerminal(t *testing.T) {
	var out, errs bytes.Buffer
	if code := run(context.Background(), thisComputer, nil, strings.NewReader(""), &out, &errs); code != exitOK || !strings.Contains(out.String(), "Usage: judder") {
		t.Errorf("exit code %d: %s%s", code, out.String(), errs.String())
	}
}

// An address used last is offered too: no list of ports has it.
func TestStartPorts(t *testing.T) {
	e := &env{computer: computer{ports: func() ([]link.Port, error) {
		return []link.Port{{Path: "/dev/ttyUSB0", Description: "USB serial adapter"}}, nil
	}}}
	if got := e.startPorts("/dev/ttyUSB7"); len(got) != 1 || got[0] != (tui.StartPort{Path: "/dev/ttyUSB0", Name: "USB serial adapter"}) {
		t.Errorf("%+v", got)
	}
	if got := e.startPorts("tcp://10.0.0.7:35000"); len(got) != 2 || got[1].Path != "tcp://10.0.0.7:35000" {
		t.Errorf("%+v", got)
	}
	e.ports = func() ([]link.Port, error) { return nil, errors.New("no list") }
	if got := e.startPorts(""); got != nil {
		t.Errorf("%+v", got)
	}
}
