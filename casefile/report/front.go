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
	"github.com/judder-obd/judder/pids/identity"
	"github.com/judder-obd/judder/session"
)

// front is the first page, in the order in which it is asked for: what is complained of, the answer,
// the picture, the passes, causes, what is wanted or was done, the car, how to feel it.
func (w *writer) front() (list []Section) {
	list = append(list, w.complaint(), w.answered())
	if s, ok := (&pictures{w}).wave(); ok {
		list = append(list, s)
	}
	if s, ok := w.passes(true); ok {
		list = append(list, s)
	}
	list = append(list, w.causes())
	if w.o.Stage == casefile.Before {
		list = append(list, w.asked())
	} else {
		list = append(list, w.done())
	}
	return append(list, w.about(), w.feel())
}

func (w *writer) complaint() Section {
	c := &w.e.Case.Complaint
	s := Section{Title: "Complaint, in the customer's words"}
	if c.IsZero() {
		s.Text = []string{"The case has no complaint yet."}
		return s
	}
	if c.Words != "" {
		s.Text = []string{"“" + c.Words + "”"}
	}
	for _, f := range []Fact{{"Speed", c.Speed}, {"Throttle", c.Load}, {"Engine", c.Engine}, {"How often", c.HowOften}, {"Since", c.Since}, {"Worked on lately", c.RecentWork}} {
		if f.Value != "" {
			s.Facts = append(s.Facts, f)
		}
	}
	if box, _ := c.Box(); !box.IsZero() {
		s.Facts = append(s.Facts, Fact{"Read as", box.String()})
	}
	return s
}

func (w *writer) answered() Section {
	s := Section{Title: "Answer", Loud: true, Text: []string{w.answer.Words()}}
	s.Text = append(s.Text, w.doubts()...)
	if felt := w.answer.Felt(); felt != "" {
		s.Text = append(s.Text, felt)
	}
	if w.o.Stage == casefile.Before {
		for _, words := range w.contrasts() {
			s.Text = append(s.Text, "Brake: "+words+".")
		}
	} else {
		if again := w.repairedTwice(); again != "" {
			s.Text = append(s.Text, again)
		}
	}
	if w.answer.In.pair != nil {
		s.Text = append(s.Text, "The case names no complaint that a drive can be held against; passes count at the road speeds and loads that were driven both before and after the work.")
	}
	for i := range w.e.Drives {
		if d := &w.e.Drives[i]; d.Err != nil {
			s.Text = append(s.Text, fmt.Sprintf("The recording %s counts for nothing here: %v.", d.File.Name, d.Err))
		}
	}
	return s
}

// repairedTwice is what has to be known where several rungs lie between the drives.
func (w *writer) repairedTwice() string {
	if n := len(w.e.Case.Repairs); n > 1 {
		return fmt.Sprintf("%d repairs lie between these drives; the drives do not show which of them did it.", n)
	}
	return ""
}

func (w *writer) asked() Section {
	r := &w.e.Case.Request
	s := Section{Title: "What is asked for"}
	if r.Authorise != "" {
		s.Text = []string{"Authorise: " + r.Authorise}
	} else {
		s.Facts = append(s.Facts, Fact{"Authorise", ""})
	}
	s.Facts = append(s.Facts, Fact{"Estimate, parts and labour", r.Estimate}, Fact{"Contract", r.Contract}, Fact{"Authorisation number", r.Number}, Fact{"Given on", day(r.Given)}, Fact{"By whom", ""})
	if next := w.e.Case.Next(); next != nil {
		s.Text = append(s.Text, "Next on the repair ladder: "+next.Do)
	}
	s.Text = append(s.Text, casefile.LadderLimit)
	return s
}

func (w *writer) done() Section {
	s := Section{Title: "What was done"}
	for i := range w.e.Case.Repairs {
		r := &w.e.Case.Repairs[i]
		s.List = append(s.List, joined("; ", day(r.Done)+": "+doneWords(r.Rung), km(r.OdometerKM, "at "), prefixed("parts: ", r.Parts), r.Note))
	}
	if s.List == nil {
		s.Text = []string{"No repair is written down yet."}
	}
	if r := &w.e.Case.Request; r.Number != "" {
		s.Facts = []Fact{{"Authorisation number", r.Number}, {"Given on", day(r.Given)}}
	}
	return s
}

// doneWords name a rung that was done.
func doneWords(id casefile.RungID) string {
	return map[casefile.RungID]string{
		casefile.RungFluid: "full exchange of the fluid", casefile.RungAdaptation: "the maker's adaptation drive", casefile.RungControl: "valve body, solenoid or wiring of the converter clutch",
		casefile.RungConverter: "torque converter", casefile.RungUnit: "transmission", casefile.RungOther: "other repair",
	}[id]
}

func (w *writer) about() Section {
	c := &w.e.Case
	s := Section{Title: "Car, date, who"}
	add := func(name, value string) {
		if value != "" {
			s.Facts = append(s.Facts, Fact{name, value})
		}
	}
	add("Car", c.Car.Name)
	add("Identification number (VIN)", w.vin())
	add("Odometer at the start", km(c.Car.OdometerKM, ""))
	if len(w.vins()) > 1 {
		add("Same car", twoCars+"more than one identification number")
	} else {
		add("Same car in all checks", w.sameCar())
	}
	add("Case opened", day(c.Opened))
	add("This paper", stamp(w.o.Now))
	add("Drives", joined(", ", w.driveDates()...))
	add("By", c.Car.By)
	add("Adapter", joined(", ", w.adapters()...))
	return s
}

// vin is the number as this paper may show it.
func (w *writer) vin() string {
	if list := w.vins(); len(list) > 0 {
		if w.o.VIN {
			return strings.Join(list, ", ")
		}
		return identity.MaskVIN(list[0])
	}
	for i := range w.e.Checks {
		if r := w.e.Checks[i].Report; r != nil && r.VIN != "" {
			return r.VIN
		}
	}
	return ""
}

func (w *writer) driveDates() (list []string) {
	for i := range w.e.Drives {
		if d := &w.e.Drives[i]; d.Err == nil && !d.At().IsZero() {
			list = append(list, stamp(d.At())+" ("+string(d.File.Stage)+" the work)")
		}
	}
	return list
}

func (w *writer) adapters() (list []string) {
	add := func(name string) {
		if name != "" && !slices.Contains(list, name) {
			list = append(list, name)
		}
	}
	for i := range w.e.Drives {
		add(w.e.Drives[i].Header.Adapter)
	}
	for i := range w.e.Checks {
		if r := w.e.Checks[i].Report; r != nil {
			add(r.Adapter)
		}
	}
	return list
}

// feel is how to bring the shake about, from the passes that had it.
func (w *writer) feel() Section {
	s := Section{Title: "How to feel it yourself"}
	type span struct{ low, high float64 }
	spans := make([]span, 3)
	for i := range spans {
		spans[i] = span{math.Inf(1), math.Inf(-1)}
	}
	n, of, gears := 0, 0, []int{}
	for i := range w.e.Drives {
		d := &w.e.Drives[i]
		if d.File.Stage != casefile.Before || d.Err != nil {
			continue
		}
		for k := range d.Result.Passes {
			p := &d.Result.Passes[k]
			if !w.answer.In.hold(p) {
				continue
			}
			if of++; !p.Shudder {
				continue
			}
			n++
			for j, v := range []float64{p.SpeedKMH, p.ThrottlePct, p.CoolantC} {
				if !math.IsNaN(v) {
					spans[j] = span{min(spans[j].low, v), max(spans[j].high, v)}
				}
			}
			if p.Gear > 0 && !slices.Contains(gears, p.Gear) {
				gears = append(gears, p.Gear)
			}
		}
	}
	if n == 0 {
		s.Text = []string{"No pass with shudder is part of this case, so no conditions can be named that bring it about."}
		return s
	}
	row := func(name string, x span, unit string) {
		if x.low <= x.high {
			s.Facts = append(s.Facts, Fact{name, rangeWords(x.low, x.high) + " " + unit})
		}
	}
	row("Road speed", spans[0], "km/h")
	row("Throttle", spans[1], "%, held still")
	row("Coolant", spans[2], "°C")
	slices.Sort(gears)
	var names []string
	for _, g := range gears {
		names = append(names, strconv.Itoa(g))
	}
	if names != nil {
		s.Facts = append(s.Facts, Fact{"Gear", strings.Join(names, ", ")})
	}
	s.Facts = append(s.Facts, Fact{"How often", share(n, of) + fmt.Sprintf(" of at least %.0f s", session.PassLeast.Seconds())})
	if w.o.Stage == casefile.After {
		s.Text = []string{"So it came before the work. The same passes show whether it is gone."}
	}
	s.Text = append(s.Text, "Only where traffic and weather permit it, within the law. A second person watches for the moment.")
	return s
}

func rangeWords(low, high float64) string {
	if math.Round(low) == math.Round(high) {
		return fmt.Sprintf("%.0f", low)
	}
	return fmt.Sprintf("%.0f to %.0f", low, high)
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02")
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return "time not known"
	}
	return t.Format("2006-01-02 15:04")
}

func km(odometer float64, before string) string {
	if odometer <= 0 {
		return ""
	}
	return fmt.Sprintf("%s%.0f km", before, odometer)
}

func prefixed(before, text string) string {
	if text == "" {
		return ""
	}
	return before + text
}

func joined(between string, texts ...string) string {
	return strings.Join(slices.DeleteFunc(slices.Clone(texts), func(s string) bool { return s == "" }), between)
}

// orDash is a figure, or a dash where it was not read.
func orDash(v float64, digits int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf("%.*f", digits, v)
}

// stageOrder puts what is from before the work first.
func stageOrder(a, b casefile.Stage) int { return cmp.Compare(string(b), string(a)) }
