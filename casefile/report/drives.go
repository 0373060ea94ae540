package report

import (
	"fmt"
	"strconv"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
)

// passes is the table of passes: on the front page those of the complaint, behind it all others.
func (w *writer) passes(front bool) (Section, bool) {
	s := Section{Title: "Passes with and without shudder"}
	if !front {
		s.Title = "Passes outside the conditions of the complaint"
	}
	for _, d := range w.drives() {
		t := Table{Caption: fmt.Sprintf("Steady passes of at least %.0f s in %s", session.PassLeast.Seconds(), driveName(d)), Head: []string{"At", "km/h", "Load %", "Throttle %", "Coolant °C", "Engine rpm", "Gear", "Lasted", "Shudder"}}
		if t.Rows = passRows(d, w.answer.In, front); t.Rows != nil {
			s.Tables = append(s.Tables, t)
		}
	}
	return s, s.Tables != nil
}

func (w *writer) stages() []casefile.Stage {
	if w.o.Stage == casefile.After {
		return []casefile.Stage{casefile.Before, casefile.After}
	}
	return []casefile.Stage{casefile.Before}
}

// drives are the drives of the paper's stages that can be read, those before the work first.
func (w *writer) drives() (list []*casefile.DriveFile) {
	for _, stage := range w.stages() {
		for i := range w.e.Drives {
			if d := &w.e.Drives[i]; d.File.Stage == stage && d.Err == nil {
				list = append(list, d)
			}
		}
	}
	return list
}

// driveName is which drive it is.
func driveName(d *casefile.DriveFile) string {
	if d.At().IsZero() {
		return fmt.Sprintf("the drive %s, %s the work", d.File.Name, d.File.Stage)
	}
	return fmt.Sprintf("the drive of %s, %s the work", stamp(d.At()), d.File.Stage)
}

func passRows(d *casefile.DriveFile, in conditions, front bool) (rows [][]string) {
	for i := range d.Result.Passes {
		p := &d.Result.Passes[i]
		if in.hold(p) != front {
			continue
		}
		shook := "no"
		largest := 0.0
		for k := range d.Result.Events {
			if ev := &d.Result.Events[k]; p.Has(ev) {
				largest = max(largest, ev.SwingRPM)
			}
		}
		if p.Shudder {
			shook = fmt.Sprintf("%.0f rpm", largest)
		}
		gear := "–"
		if p.Gear > 0 {
			gear = strconv.Itoa(p.Gear)
		}
		rows = append(rows, []string{prose.Clock(p.Start), orDash(p.SpeedKMH, 0), orDash(p.LoadPct, 0), orDash(p.ThrottlePct, 0), orDash(p.CoolantC, 0), orDash(p.EngineRPM, 0), gear, prose.Duration(p.Judged), shook})
	}
	return rows
}
