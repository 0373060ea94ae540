package cli

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
)

// shaken records a cruise at 70 km/h, 60 readings a second, that swings 110 rpm at 2 Hz from 60 s to
// 64 s, with a felt mark and a note.
func shaken(t *testing.T, note string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shaken.jsonl")
	w, err := recording.Create(path, recording.Header{Program: "judder test", Port: "test", Start: time.Date(2026, 11, 29, 10, 12, 0, 0, time.FixedZone("", 3600))})
	if err != nil {
		t.Fatal(err)
	}
	put := func(e recording.Entry) {
		if err := w.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 90 * 60 {
		at := time.Duration(i) * time.Second / 60
		for _, s := range []struct {
			signal pids.Signal
			value  float64
			every  int
		}{{pids.RPM, 1700 + swing(at.Seconds()) + float64(i*i%5), 1}, {pids.VSS, 70, 6}, {pids.TP, 18, 6}, {pids.LoadPct, 30, 6}, {pids.ECT, 90, 60}} {
			if i%s.every == 0 {
				put(recording.OfReading(pids.Sample{At: at, ECU: "7E8", Signal: s.signal, Value: s.value}))
			}
		}
		if i == 62*60 {
			put(recording.Felt(at))
			put(recording.Note(at, note))
		}
	}
	if err := w.Close(recording.WhyUser); err != nil {
		t.Fatal(err)
	}
	return path
}

// swing is a saw of 110 rpm peak to peak, twice a second, from 60 s to 64 s.
func swing(s float64) float64 {
	if s < 60 || s > 64 {
		return 0
	}
	x := 2 * s
	x -= float64(int(x))
	return 220*max(x-0.5, 0.5-x) - 55
}

// isXML reports the elements of a picture.
func isXML(t *testing.T, picture string) map[string]int {
	t.Helper()
	d, elements := xml.NewDecoder(strings.NewReader(picture)), map[string]int{}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return elements
		}
		if err != nil {
			t.Fatalf("no XML: %v", err)
		}
		if x, ok := token.(xml.StartElement); ok {
			elements[x.Name.Local]++
		}
	}
}

func TestPicture(t *testing.T) {
	t.Parallel()
	file := shaken(t, `</text><script>alert(1)</script>`)
	for _, args := range [][]string{{}, {"--event", "1"}, {"--at", "0:01:02"}, {"--at", "62.5"}, {"--at", "0:10"}, {"--strip"}} {
		code, out, said := judder(t, append([]string{"picture", file}, args...)...)
		if code != exitOK {
			t.Fatalf("%q: %s", args, said)
		}
		e := isXML(t, out)
		if e["svg"] != 1 || e["title"] != 1 || e["desc"] != 1 || e["script"] != 0 || e["path"] < 3 {
			t.Errorf("%q: %v", args, e)
		}
		if want := "dashed"; strings.Contains(out, want) != (len(args) == 0 || args[0] == "--event" || strings.Contains(args[len(args)-1], "2")) {
			t.Errorf("%q: the alarm is drawn where there is a shudder, and nowhere else", args)
		}
	}
}

func TestPicture_NeverOverwrites(t *testing.T) {
	t.Parallel()
	file := shaken(t, "hill")
	out := filepath.Join(t.TempDir(), "p.svg")
	if code, _, said := judder(t, "picture", file, "--out", out); code != exitOK {
		t.Fatal(said)
	}
	was, err := os.ReadFile(out)
	if err != nil || isXML(t, string(was))["svg"] != 1 {
		t.Fatalf("%v: %s", err, was)
	}
	if code, _, _ := judder(t, "picture", file, "--strip", "--out", out); code != exitFailed {
		t.Errorf("exit code %d over a file that exists", code)
	}
	if is, err := os.ReadFile(out); err != nil || string(is) != string(was) {
		t.Errorf("the file was changed: %v", err)
	}
}

func TestPicture_Refuses(t *testing.T) {
	t.Parallel()
	file := shaken(t, "hill")
	for _, tt := range []struct {
		code int
		args []string
	}{
		{exitUsage, []string{"--event", "1", "--strip"}}, {exitUsage, []string{"--at", "noon"}}, {exitUsage, []string{"--at", "1:2:3:4"}},
		{exitUsage, []string{"--event=-1"}}, {exitFailed, []string{"--event", "2"}}, {exitFailed, []string{"--at", "9:00:00"}},
	} {
		if code, out, said := judder(t, append([]string{"picture", file}, tt.args...)...); code != tt.code || out != "" || said == "" {
			t.Errorf("%q: exit code %d, want %d: %s", tt.args, code, tt.code, said)
		}
	}
}
