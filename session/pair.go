package session

import (
	"math"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/complaint"
)

// PairFinding is what a drive after a repair shows beside one before it.
type PairFinding uint8

// The findings.
const (
	NothingToCompare PairFinding = iota // one drive has no pass in the conditions of the other
	NothingBefore                       // no pass shuddered before: there is nothing that could be gone
	StillThere                          // a pass shuddered after
	StillFelt                           // no pass shuddered after, and the shake was felt
	TooBlunt                            // the drive after could not have shown swings as small as those before
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

// Pair is two drives side by side: passes in the same operating conditions.
type Pair struct {
	Complaint   complaint.Box // zero where cells of road speed and load are compared
	Cells       []Cell        // with a complaint one; else those with passes of both drives
	Table       chance.Table  // of all cells
	Chance      float64       // of so few shuddering passes after in each cell, if the repair changed nothing
	More        int           // quiet passes after that are still needed; only where the finding is NotShown and Possible
	Where       complaint.Box // in which conditions they count most
	Possible    bool          // so many could show it
	SeenAfter   int           // shudders after, also outside passes: in the complaint, or anywhere without one
	FeltAfter   int           // felt marks after
	ShowsRPM    float64       // typical smallest visible swing after; 0 where nothing was usable
	SmallestRPM float64       // smallest shudder before in these conditions; NaN where none was
	Before      Spread        // of the swing in these conditions
	After       Spread
	Finding     PairFinding
}

// Compare puts two drives side by side. box is what to compare in; where it is zero the complaint of
// the drive before counts, then that of the drive after, and without any the cells of road speed and
// load that both drives met.
func Compare(before, after *Result, box complaint.Box) Pair {
	for _, b := range []complaint.Box{before.Complaint, after.Complaint} {
		if box.IsZero() {
			box = b
		}
	}
	p := Pair{Complaint: box, ShowsRPM: after.Verdict.SmallestRPM, SmallestRPM: math.NaN()}
	first, second := passesIn(before, box), passesIn(after, box)
	for _, cell := range cellsOf(box) {
		in := place{cell, box.IsZero()}
		c := Cell{Box: cell}
		c.Table.Before, c.Table.BeforeOf = countPasses(first, in)
		c.Table.After, c.Table.AfterOf = countPasses(second, in)
		if box.IsZero() && (c.Table.BeforeOf == 0 || c.Table.AfterOf == 0) {
			continue
		}
		p.Cells = append(p.Cells, c)
		p.Table.Before += c.Table.Before
		p.Table.BeforeOf += c.Table.BeforeOf
		p.Table.After += c.Table.After
		p.Table.AfterOf += c.Table.AfterOf
		p.Before.add(before.moments, in)
		p.After.add(after.moments, in)
		p.smallest(before.Events, in)
	}
	for i := range after.Events {
		if Meets(box, &after.Events[i]) {
			p.SeenAfter++
		}
	}
	for i := range after.Marks {
		if after.Marks[i].Note == "" {
			p.FeltAfter++
		}
	}
	p.conclude()
	return p
}

func (p *Pair) conclude() {
	t := p.Table
	tables := make([]chance.Table, len(p.Cells))
	for i := range p.Cells {
		tables[i] = p.Cells[i].Table
	}
	p.Chance = chance.All(tables)
	switch {
	case p.SeenAfter > 0 && t.After == 0:
		p.Finding = StillThere
	case t.BeforeOf == 0 || t.AfterOf == 0:
		p.Finding = NothingToCompare
	case t.After > 0:
		p.Finding = StillThere
	case t.Before == 0:
		p.Finding = NothingBefore
	case p.FeltAfter > 0:
		p.Finding = StillFelt
	case p.ShowsRPM > p.SmallestRPM:
		p.Finding = TooBlunt
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

// cellsOf are the operating conditions to compare in: the complaint, or every band of road speed at
// every load.
func cellsOf(box complaint.Box) (cells []complaint.Box) {
	if !box.IsZero() {
		return []complaint.Box{box}
	}
	for _, row := range newCoverage().Rows {
		for _, load := range complaint.Loads {
			cells = append(cells, complaint.Box{FromKMH: row.FromKMH, ToKMH: row.ToKMH, Load: load})
		}
	}
	return cells
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

// countPasses counts the passes in a cell, and those of them with shudder. A pass is in one cell, by its mean
// speed and load.
func countPasses(passes []Pass, in place) (shudders, all int) {
	for i := range passes {
		p := &passes[i]
		if in.cell && !in.holds(p.Point()) || !in.cell && !p.InComplaint {
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
