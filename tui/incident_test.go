package tui

import (
	"math"
	"testing"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/detect/slip"
	"github.com/judder-obd/judder/session"
)

// Slip that is computed from engine speed swings within a shudder: that is one thing and one row. Slip
// that was read is evidence of its own, and so is computed slip that swings elsewhere.
func TestIncidents_SlipInAShudder(t *testing.T) {
	shudder := detect.Event{Start: at(2, 22), End: at(2, 25), SwingRPM: 194}
	within := slip.Swing{Start: at(2, 21), End: at(2, 25), SwingRPM: 188, MeanRPM: 20, WantedRPM: math.NaN(), ApparentRPM: 18}
	read, elsewhere := within, within
	read.ApparentRPM = 0
	elsewhere.Start, elsewhere.End = at(5, 0), at(5, 3)
	for _, tt := range []struct {
		name  string
		swing slip.Swing
		rows  int
	}{{"computed, within", within, 1}, {"read, within", read, 2}, {"computed, elsewhere", elsewhere, 2}} {
		s := session.Snapshot{Now: at(6, 0), Events: []detect.Event{shudder}, Slip: []slip.Swing{tt.swing}}
		if rows := incidents(nil, &s, 9); len(rows) != tt.rows {
			t.Errorf("%s: %d rows, want %d", tt.name, len(rows), tt.rows)
		}
	}
}
