package session

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/complaint"
)

// PairFinding is what the drives after a repair show beside those before it.
type PairFinding uint8

// The findings.
const (
	NothingToCompare PairFinding = iota // one drive has no pass in the conditions of the other
	NothingBefore                       // no pass shuddered before: there is nothing that could be gone
	StillThere                          // a pass shuddered after
	StillFelt                           // no pass shuddered after, and the shake was felt
	TooBlunt                            // no drive after could have shown swings as small as those before
	NotShown                            // quiet, in too few passes
	Gone                                // quiet, and chance is no likely reason
)

var pairNames = [...]string{
	NothingToCompare: "nothing to compare", NothingBefore: "no shudder before", StillThere: "still there",
	StillFelt: "still felt", TooBlunt: "cannot tell", NotShown: "not shown yet", Gone: "gone",
}

// String is the finding for machines.
func (f PairFinding) String() string { return pairNames[f] }

// Cell is one set of operating conditions that both drives met.
type Cell struct {
	Box   complaint.Box
	Table chance.Table
}

// Pair is drives before and after a repair side by side: passes in the same operating conditions.
type Pair struct {
	Complaint   complaint.Box // zero where cells of road speed and load are compared
	Cells       []Cell        // with a complaint one; else those with passes of both drives
	Table       chance.Table  // of all cells
	Chance      float64       // of so few shuddering passes after in each cell, if the repair changed nothing
	More        int           // quiet passes after that are still needed; only where the finding is NotShown and Possible
	Where       complaint.Box // in which conditions they count most
	Possible    bool          // so many could show it
	SeenAfter   int           // shudders after, in these conditions or not, also outside passes
	FeltAfter   int           // felt marks after
	TapStopped  bool          // brake taps stopped shakes after, which were too short to be called shudder
	Blind       []string      // why the quiet passes of a drive after do not count, a line for each such drive
	SmallestRPM float64       // smallest shudder before in these conditions; NaN where none was
	Before      Spread        // of the swing in these conditions
	After       Spread
	Finding     PairFinding
}

// Compare puts drives before and after a repair side by side. box is what to compare in; where it is
// zero the first complaint of the drives before counts, then that of the drives after, and without any
// the cells of road speed and load that both sides met. A drive after that could not have shown the
// smallest shudder before it counts only where it showed one: its quiet passes prove nothing.
func Compare(before, after []*Result, box complaint.Box) Pair {
	for _, r := range slices.Concat(before, after) {
		if box.IsZero() {
			box = r.Complaint
		}
	}
	p := Pair{Complaint: box, SmallestRPM: math.NaN()}
	first, second := passesOfAll(before, box), passesOfAll(after, box)
	places := placesOf(box, slices.Concat(first...), slices.Concat(second...))
	for _, in := range places {
		for _, r := range before {
			p.smallest(r.Events, in)
		}
	}
	var counted []*Result
	var sharp []Pass // passes of the drives that count
	for i, r := range after {
		p.SeenAfter += len(r.Events)
		p.FeltAfter += feltIn(r)
		p.TapStopped = p.TapStopped || r.Headline.Rule == TapStopped
		if why := blind(r, p.SmallestRPM); why != "" {
			p.Blind = append(p.Blind, why)
			continue
		}
		counted, sharp = append(counted, r), append(sharp, second[i]...)
	}
	for _, in := range places {
		p.cell(in, slices.Concat(first...), sharp)
		p.Before.addAll(before, in)
		p.After.addAll(counted, in)
	}
	p.conclude()
	return p
}

// cell counts the passes of both sides in one set of conditions.
func (p *Pair) cell(in place, first, second []Pass) {
	c := Cell{Box: in.box}
	c.Table.Before, c.Table.BeforeOf = countPasses(first, in)
	c.Table.After, c.Table.AfterOf = countPasses(second, in)
	p.Cells = append(p.Cells, c)
	p.Table.Before += c.Table.Before
	p.Table.BeforeOf += c.Table.BeforeOf
	p.Table.After += c.Table.After
	p.Table.AfterOf += c.Table.AfterOf
}

// blind is why a quiet drive after a repair could not have shown a shudder of so many rpm; "" where it
// could, and where it showed one.
func blind(r *Result, rpm float64) string {
	switch {
	case len(r.Events) > 0 || math.IsNaN(rpm):
		return ""
	case r.Verdict.SmallestRPM > rpm:
		return fmt.Sprintf("it could show swings from %.0f rpm, and the smallest before the work had %.0f", math.Ceil(r.Verdict.SmallestRPM), rpm)
	case r.Rate > 0 && r.Rate < detect.EnoughForNone:
		return fmt.Sprintf("engine speed was read %.1f times a second; %d are needed to clear a car", r.Rate, detect.EnoughForNone)
	case r.Headline.Rule == FeltNotSeen: // that it was felt counts by itself
		return ""
	case r.Verdict.Finding == detect.CannotTell && r.Need.Enough(): // long enough, and something else forbids it
		return r.Verdict.Reason
	}
	return ""
}

// feltIn is how often the person in the car marked the shake.
func feltIn(r *Result) (n int) {
	for i := range r.Marks {
		if r.Marks[i].Note == "" {
			n++
		}
	}
	return n
}

func (p *Pair) conclude() {
	t := p.Table
	tables := make([]chance.Table, len(p.Cells))
	for i := range p.Cells {
		tables[i] = p.Cells[i].Table
	}
	p.Chance = chance.All(tables)
	switch {
	case p.SeenAfter > 0, p.TapStopped:
		p.Finding = StillThere
	case t.AfterOf == 0 && len(p.Blind) > 0:
		p.Finding = TooBlunt
	case t.BeforeOf == 0 || t.AfterOf == 0:
		p.Finding = NothingToCompare
	case t.Before == 0:
		p.Finding = NothingBefore
	case p.FeltAfter > 0:
		p.Finding = StillFelt
	case chance.Gone(p.Chance):
		p.Finding = Gone
	default:
		p.Finding = NotShown
		var where int
		if p.More, where, p.Possible = chance.MoreOf(tables); p.Possible {
			p.Where = p.Cells[where].Box
		}
	}
}

// smallest takes the smallest shudder before in a cell.
func (p *Pair) smallest(events []detect.Event, in place) {
	for i := range events {
		if e := &events[i]; in.holds(pointOf(e)) && !(e.SwingRPM >= p.SmallestRPM) {
			p.SmallestRPM = e.SwingRPM
		}
	}
}

// passesOfAll are the passes of each drive as a complaint parts them.
func passesOfAll(drives []*Result, box complaint.Box) [][]Pass {
	list := make([][]Pass, len(drives))
	for i, r := range drives {
		list[i] = passesIn(r, box)
	}
	return list
}

// passesIn are the passes of a drive as another complaint parts them.
func passesIn(r *Result, box complaint.Box) []Pass {
	if r.Complaint == box {
		return r.Passes
	}
	b := newPassBook()
	b.moments = r.moments
	b.setBox(box)
	return b.all(nil, r.Events)
}

// placesOf are the operating conditions to compare in: the complaint, or every band of road speed at
// every load that both sides met.
func placesOf(box complaint.Box, first, second []Pass) (list []place) {
	if !box.IsZero() {
		return []place{{box, false}}
	}
	for _, row := range newCoverage().Rows {
		for _, load := range complaint.Loads {
			in := place{complaint.Box{FromKMH: row.FromKMH, ToKMH: row.ToKMH, Load: load}, true}
			_, before := countPasses(first, in)
			if _, after := countPasses(second, in); before > 0 && after > 0 {
				list = append(list, in)
			}
		}
	}
	return list
}

// place is a set of operating conditions: a complaint, or a cell of road speed and load, whose highest
// speed belongs to the next.
type place struct {
	box  complaint.Box
	cell bool
}

func (in place) holds(at complaint.Point) bool {
	return in.box.Contains(at) && !(in.cell && at.SpeedKMH >= in.box.ToKMH)
}

// Holds reports whether a pass is in the conditions that were compared.
func (p *Pair) Holds(x *Pass) bool {
	for i := range p.Cells {
		if (place{p.Cells[i].Box, p.Complaint.IsZero()}).counts(x) {
			return true
		}
	}
	return false
}

// counts reports whether a pass is in the place: in a cell by its mean speed and load.
func (in place) counts(p *Pass) bool {
	if in.cell {
		return in.holds(p.Point())
	}
	return p.InComplaint
}

// countPasses counts the passes in a cell, and those of them with shudder.
func countPasses(passes []Pass, in place) (shudders, all int) {
	for i := range passes {
		p := &passes[i]
		if !in.counts(p) {
			continue
		}
		if all++; p.Shudder {
			shudders++
		}
	}
	return shudders, all
}

// Spread is how the swing of engine speed is spread over usable time: a share of it for each step of
// SpreadStep rpm, the last for all above.
type Spread struct {
	Time  time.Duration
	Share [SpreadSteps]float64 // of Time, 0 to 1

	sums [SpreadSteps]time.Duration
}

// The steps of a spread, rpm peak to peak.
const (
	SpreadStep  = 20
	SpreadSteps = 11
)

// addAll takes the moments of drives in a cell.
func (s *Spread) addAll(drives []*Result, in place) {
	for _, r := range drives {
		s.add(r.moments, in)
	}
}

// add takes the moments in a cell.
func (s *Spread) add(moments []kept, in place) {
	for i := range moments {
		m := moments[i].moment()
		if math.IsNaN(m.swing) || !in.holds(m.Point) {
			continue
		}
		s.Time += m.end - m.start
		s.sums[min(int(m.swing/SpreadStep), SpreadSteps-1)] += m.end - m.start
	}
	for i, d := range s.sums {
		if s.Time > 0 {
			s.Share[i] = d.Seconds() / s.Time.Seconds()
		}
	}
}
