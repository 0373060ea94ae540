package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/prose"
	"github.com/judder-obd/judder/session"
	"github.com/judder-obd/judder/session/chance"
)

// technical is what is behind the front page.
func (w *writer) technical() (list []Section) {
	list = append(list, w.events())
	if s, ok := w.passes(false); ok && !w.answer.In.box.IsZero() {
		list = append(list, s)
	}
	list = append(list, w.codes()...)
	list = append(list, w.coverage(), w.limits())
	if w.o.Stage == casefile.After {
		list = append(list, w.proof())
	}
	if s, ok := w.looks(); ok {
		list = append(list, s)
	}
	list = append(list, w.ladder())
	if s, ok := w.photos(); ok {
		list = append(list, s)
	}
	return append(list, w.files())
}

func (w *writer) events() Section {
	s := Section{Title: "Every shudder"}
	for _, d := range w.drives() {
		t := Table{Caption: "Shudder in " + driveName(d), Head: []string{"At", "Swing rpm", "Frequency", "Lasted", "km/h", "Throttle %", "Load %", "Coolant °C", "Alarm rpm", "Ended with", "Could also be"}}
		for k := range d.Result.Events {
			ev := &d.Result.Events[k]
			ended := "–"
			if step := endedBy(&d.Result, ev); step != nil {
				ended = step.Kind.String()
			}
			t.Rows = append(t.Rows, []string{prose.Clock(ev.Start), orDash(ev.SwingRPM, 0), cmp.Or(ev.Frequency(), "–"), prose.Duration(ev.End - ev.Start),
				orDash(ev.SpeedKMH, 0), orDash(ev.ThrottlePct, 0), orDash(ev.LoadPct, 0), orDash(ev.CoolantC, 0), orDash(ev.LimitRPM, 0), ended, cmp.Or(ev.CannotTell, "–")})
		}
		if t.Rows != nil {
			s.Tables = append(s.Tables, t)
		} else {
			s.Text = append(s.Text, "No shudder was seen in "+driveName(d)+".")
		}
	}
	if s.Tables == nil && s.Text == nil {
		s.Text = []string{"No drive is part of this paper."}
	}
	return s
}

// coverage is where shudder could have been seen: judged time by road speed and load.
func (w *writer) coverage() Section {
	s := Section{Title: "Where shudder could have been seen", Text: []string{"Time at a steady throttle and speed in which shudder would have shown. 0 s means that it was not driven there."}}
	for _, stage := range w.stages() {
		var sum [9][4]time.Duration
		for i := range w.e.Drives {
			d := &w.e.Drives[i]
			if d.File.Stage != stage || d.Err != nil {
				continue
			}
			s.List = append(s.List, driveWords(d))
			for k, row := range d.Result.Cover.Rows {
				if k < len(sum) {
					for j, t := range row.Judged {
						sum[k][j] += t
					}
				}
			}
		}
		t := Table{Caption: fmt.Sprintf("Usable time by road speed and load, %s the work", stage), Head: []string{"km/h", "Light", "Medium", "Heavy", "Load not read"}}
		for k := range sum {
			cells := []string{""}
			for _, d := range sum[k] {
				cells = append(cells, fmt.Sprintf("%.0f s", math.Floor(d.Seconds())))
			}
			if from, to, ok := w.band(k); ok {
				cells[0] = fmt.Sprintf("%.0f to %.0f", from, to)
				t.Rows = append(t.Rows, cells)
			}
		}
		if t.Rows != nil {
			s.Tables = append(s.Tables, t)
		}
	}
	return s
}

// band is the road speed of row k of the drives' coverage.
func (w *writer) band(k int) (from, to float64, ok bool) {
	for i := range w.e.Drives {
		if rows := w.e.Drives[i].Result.Cover.Rows; k < len(rows) {
			return rows[k].FromKMH, rows[k].ToKMH, true
		}
	}
	return 0, 0, false
}

// driveWords are a drive in one line.
func driveWords(d *casefile.DriveFile) string {
	r := &d.Result
	words := fmt.Sprintf("%s, %s the work, %s: %s (%s)", d.File.Name, d.File.Stage, prose.Clock(r.Duration), r.Verdict.Finding, r.Verdict.Reason)
	if r.Verdict.SmallestRPM > 0 {
		words += fmt.Sprintf("; typical smallest visible swing %.0f rpm", math.Ceil(r.Verdict.SmallestRPM))
	}
	if r.Damage != "" {
		words += "; the file: " + r.Damage
	}
	return words
}

// limits is what such drives cannot show.
func (w *writer) limits() Section {
	return Section{Title: "What these readings cannot show", List: []string{
		"Friction shudder itself (8 to 25 Hz). " + friction + " What shows well is its slow companion, a clutch that grabs and releases at about 1 to 5 Hz.",
		"Frequencies above half the rate of reading: they look like lower ones.",
		"Which part makes the shudder. " + casefile.LadderLimit,
		"A misfire under load, a rough road, or a healthy clutch that locks at a feather-light pedal can swing engine speed too. Each shudder above names what it could also be.",
		"The limits of the alarm are judder's own. No published limit for swings of engine speed was found.",
	}}
}

// proof is the change by passes, with what chance alone could do, so that it can be checked by hand.
func (w *writer) proof() Section {
	t, each := w.answer.Pair.Table, ""
	s := Section{Title: "Before and after, by passes"}
	s.Tables = []Table{{Caption: "Steady passes " + w.answer.In.words(), Head: []string{"Drives", "With shudder", "Without", "All", "Share with shudder, 95 % interval"}, Rows: [][]string{
		sideRow("Before the work", t.Before, t.BeforeOf), sideRow("After the work", t.After, t.AfterOf)}}}
	if cells := w.answer.Pair.Cells; len(cells) > 1 {
		each = "; in each of the conditions below, multiplied"
		s.Tables = append(s.Tables, cellTable(cells))
	}
	if t.BeforeOf > 0 && t.AfterOf > 0 {
		s.Text = append(s.Text, fmt.Sprintf("If the work had changed nothing, luck alone would leave so few passes with shudder after it with p = %.3g (Fisher's exact test, one-sided, with the sums of the table held%s). Below %.2g counts as a change (common practice).", w.answer.Pair.Chance, each, chance.Below))
	}
	if w.answer.Kind == NotProved {
		s.Text = append(s.Text, "Still needed: "+w.answer.moreWords()+".")
	}
	s.Text = append(s.Text, "The intervals are exact (Clopper and Pearson). Passes after the work count only from drives that could have shown a swing as small as the smallest before it.")
	for _, reason := range w.answer.Pair.Unlike {
		s.Text = append(s.Text, "Not alike: "+reason+".")
	}
	for _, reason := range w.answer.Pair.Unknown {
		s.Text = append(s.Text, "Not known: "+reason+".")
	}
	if n := w.answer.Pair.Apart; n > 0 {
		s.Text = append(s.Text, "Not counted: "+prose.Count(n, "pass", "passes")+" after the work with none like it before. Passes count beside passes in the same gear, with the converter clutch and the warmth of the engine as before.")
	}
	for _, reason := range w.answer.Pair.Blind {
		s.Text = append(s.Text, "Not counted is a drive that could not have shown it: "+reason+".")
	}
	return s
}

// cellTable has the passes of each set of conditions that both sides met.
func cellTable(cells []session.Cell) Table {
	t := Table{Caption: "Passes in the same conditions", Head: []string{"Conditions", "With shudder before", "Of", "With shudder after", "Of"}}
	for i := range cells {
		c := &cells[i].Table
		t.Rows = append(t.Rows, []string{cells[i].Words(), strconv.Itoa(c.Before), strconv.Itoa(c.BeforeOf), strconv.Itoa(c.After), strconv.Itoa(c.AfterOf)})
	}
	return t
}

func sideRow(name string, n, of int) []string {
	low, high := chance.Interval(n, of)
	interval := fmt.Sprintf("%.1f to %.1f %%", 100*low, 100*high)
	if of == 0 {
		interval = "no passes"
	}
	return []string{name, strconv.Itoa(n), strconv.Itoa(of - n), strconv.Itoa(of), interval}
}

func (w *writer) looks() (Section, bool) {
	s := Section{Title: "What was seen at the car", Text: []string{"Observations as they were written down. Figures of the maker are those that were typed in; judder knows none."}}
	t := Table{Caption: "Observations", Head: []string{"What", "Where", "What is there", "When", "Photos"}}
	for i := range w.e.Case.Looks {
		l := &w.e.Case.Looks[i]
		note := l.Note
		if l.Fluid != nil {
			note = joined("; ", note, l.Fluid.Words())
		}
		var photos []string
		for _, name := range l.Photos {
			if n := w.photoNumber(name); n > 0 {
				photos = append(photos, "photo "+strconv.Itoa(n))
			}
		}
		t.Rows = append(t.Rows, []string{string(l.Kind), l.Place, note, stamp(l.At), strings.Join(photos, ", ")})
	}
	s.Tables = []Table{t}
	return s, t.Rows != nil
}

func (w *writer) ladder() Section {
	s := Section{Title: "Repair ladder", Text: []string{"The least work first, and the same passes again after each rung. " + casefile.LadderLimit}}
	t := Table{Head: []string{"Rung", "What is done", "What the result means", "Done", "Source"}}
	for i := range casefile.Ladder {
		r := &casefile.Ladder[i]
		var done []string
		for k := range w.e.Case.Repairs {
			if x := &w.e.Case.Repairs[k]; x.Rung == r.ID {
				done = append(done, joined(", ", day(x.Done), km(x.OdometerKM, "at "), x.Parts))
			}
		}
		t.Rows = append(t.Rows, []string{strconv.Itoa(i+1) + ". " + string(r.ID), r.Do, r.Means, cmp.Or(strings.Join(done, "; "), "–"), r.Source})
	}
	s.Tables = []Table{t}
	return s
}

// photoNumber is the number of a photo in this paper, from 1; 0 when it is not in it.
func (w *writer) photoNumber(name string) int {
	return slices.IndexFunc(w.e.Photos, func(p casefile.PhotoFile) bool { return p.File.Name == name }) + 1
}

func (w *writer) photos() (Section, bool) {
	s := Section{Title: "Photos", Text: []string{"Copies without place, time and device; the photos themselves are in the case."}}
	for i := range w.e.Photos {
		p := &w.e.Photos[i]
		what := joined(", ", cmp.Or(p.File.Label, "no words for it"), w.placeOf(p.File.Name))
		if p.Err != nil {
			s.List = append(s.List, fmt.Sprintf("photo %d (%s) cannot be shown: %v", i+1, p.File.Name, p.Err))
			continue
		}
		s.Pictures = append(s.Pictures, Picture{JPEG: p.JPEG, Alt: fmt.Sprintf("photo %d: %s", i+1, what), Caption: fmt.Sprintf("Photo %d: %s. %s, %s the work.", i+1, what, p.File.Name, p.File.Stage)})
	}
	return s, len(w.e.Photos) > 0
}

// placeOf is where a photo was taken, by the observation that it belongs to.
func (w *writer) placeOf(name string) string {
	for i := range w.e.Case.Looks {
		if l := &w.e.Case.Looks[i]; slices.Contains(l.Photos, name) {
			return l.Place
		}
	}
	return ""
}

// files is the last page: the hash of every file, and what made this paper.
func (w *writer) files() Section {
	s := Section{Title: "Files"}
	t := Table{Caption: "SHA-256 of every file of the case", Head: []string{"File", "Bytes", "SHA-256 now", "Since it was added"}}
	changed := 0
	for i := range w.e.Hashes {
		h := &w.e.Hashes[i]
		state, now := "unchanged", h.Now
		switch {
		case h.Err != nil:
			state, now = "cannot be read", h.Err.Error()
			changed++
		case h.Changed():
			state = "CHANGED; was " + h.File.SHA256
			changed++
		}
		t.Rows = append(t.Rows, []string{h.File.Name, strconv.FormatInt(h.File.Bytes, 10), now, state})
	}
	if t.Rows != nil {
		s.Tables = []Table{t}
	}
	if changed > 0 {
		s.Text = append(s.Text, fmt.Sprintf("%d of these files are not as they were when they joined the case.", changed))
	}
	s.Text = append(s.Text, "A hash shows that a file is the same as when it joined the case. It does not show who made it, or when.")
	s.Facts = []Fact{{"Made by", w.o.Program}, {"Made at", w.o.Now.Format(time.RFC3339)}}
	return s
}
