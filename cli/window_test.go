package cli

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// A window of a replay is written as the readings of that time and as the picture of it, beside the
// recording, and never over another.
func TestWindow(t *testing.T) {
	path := shaken(t, "bridge")
	export := windowsOf(path)
	for _, want := range []string{"shaken-0-00-59", "shaken-0-00-59-2"} {
		files, err := export(59*time.Second, 65*time.Second)
		if err != nil || files != want+".csv and .svg" {
			t.Fatalf("%q, %v; want %s", files, err, want)
		}
		text, err := os.ReadFile(filepath.Join(filepath.Dir(path), want+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		rpm := 0
		for _, row := range rows[1:] {
			at, err := strconv.ParseFloat(row[0], 64)
			if err != nil || at < 59 || at > 65 {
				t.Fatalf("a row at %q", row[0])
			}
			for _, cell := range row {
				if cell == "RPM" {
					rpm++
				}
			}
		}
		if rpm != 6*60+1 {
			t.Errorf("%d readings of engine speed in 6 s at 60 a second", rpm)
		}
		svg, err := os.ReadFile(filepath.Join(filepath.Dir(path), want+".svg"))
		if err != nil || !strings.Contains(string(svg), "from 0:00:59 to 0:01:05") || !strings.Contains(string(svg), "shudder 1 at 0:00:59") {
			t.Errorf("%v: %.300s", err, svg)
		}
	}
	if _, err := export(200*time.Second, 210*time.Second); err == nil {
		t.Error("a window without readings was written")
	}
	if _, err := windowsOf(filepath.Join(t.TempDir(), "none.jsonl"))(0, time.Second); err == nil {
		t.Error("a recording that is not there was exported")
	}
}
