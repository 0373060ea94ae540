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
	NotAlike                            // no quiet pass after is like those before that shuddered
	TwoCars                             // the drives name two identification numbers
	Reversed                            // a drive after is earlier than one before
)

var pairNames = [...]string{
	NothingToCompare: "nothing to compare", NothingBefore: "no shudder before", StillThere: "still there",
	StillFelt: "still felt", TooBlunt: "cannot tell", NotShown: "not shown yet", Gone: "gone",
	NotAlike: "not alike", TwoCars: "two cars", Reversed: "order reversed",
}

// String is the finding for machines.
func (f PairFinding) String() string { return pairNames[f] }

// Cell is one set of operating conditions that both drives met, in passes that are alike.
type Cell struct {
	Box   complaint.Box
	How   string // engine speed for road speed and how warm, where the same Box has several cells
	Table chance.Table
}

// Words are the conditions of a cell: "at 60 to 70 km/h, light load, 1700 rpm at 65 km/h, warm".
func (c *Cell) Words() string {
	if c.How == "" {
		return PlaceWords(c.Box)
	}
	return PlaceWords(c.Box) + ", " + c.How
}

// Pair is drives before and after a repair side by side: passes in the same operating conditions.
type Pair struct {
	Complaint   complaint.Box // zero where cells of road speed and load are compared
	Cells       []Cell        // with a complaint one; else those with passes of both drives
	Table       chance.Table  // of all cells
	Chance      float64       // of so few shuddering passes after in each cell, if the repair changed nothing
	More        int           // quiet passes after that are still needed; only where the finding is NotShown and Possible
	Where       string        // in which conditions they count most: the words of a cell
	Possible    bool          // so many could show it
	SeenAfter   int           // shudders after, in these conditions or not, also outside passes
	FeltAfter   int           // felt marks after
	TapStopped  bool          // brake taps stopped shakes after, which were too short to be called shudder
	Blind       []string      // why the quiet passes of a drive after do not count, a line for each such drive
	Unlike      []string      // why passes after are not like passes before, with what to do
	Unknown     []string      // by what passes could not be told apart
	Apart       int           // passes after, in these conditions, that have none like them before and do not count
	SmallestRPM float64       // smallest shudder before in these conditions; NaN where none was
	Before      Spread        // of the swing in these conditions
	After       Spread
	Finding     PairFinding

	places []place // that were compared
}

// Compare puts drives before and after a repair side by side. box is what to compare in; where it is
// zero the first complaint of the drives before counts, then that of the drives after, and without any
// the cells of road speed and load that both sides met. A drive after that could not have shown the
// smallest shudder before it counts only where it showed one: its quiet passes prove nothing. Passes count
// only beside passes that are alike in gear, converter clutch and warmth, as far as these are known.
func Compare(before, after []*Result, box complaint.Box) Pair {
	for _, r := range slices.Concat(before, after) {
		if box.IsZero() {
			box = r.Complaint
		}
	}
	p := Pair{Complaint: box, SmallestRPM: math.NaN()}
	first, second := passesOfAll(before, box), passesOfAll(after, box)
	p.places = placesOf(box, slices.Concat(first...), slices.Concat(second...))
	for _, in := range p.places {
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
	for _, in := range p.places {
		p.cellsOf(in, slices.Concat(first...), sharp)
		p.Before.addAll(before, in)
		p.After.addAll(counted, in)
	}
	p.conclude()
	switch {
	case twoCars(slices.Concat(before, after)):
		p.Finding = TwoCars
	case reversed(before, after):
		p.Finding = Reversed
	}
	return p
}

// cellsOf counts the passes of both sides in one set of conditions: each group of passes that are alike is
// a cell. Without such a group those of one side stand alone.
func (p *Pair) cellsOf(in place, first, second []Pass) {
	all := sides{in.those(first), in.those(second)}
	groups := all.alike()
	for _, why := range all.unknown() {
		if !slices.Contains(p.Unknown, why) {
			p.Unknown = append(p.Unknown, why)
		}
	}
	met := slices.DeleteFunc(slices.Clone(groups), func(g sides) bool { return !g.both() })
	for i := range met {
		c := Cell{Box: in.box, Table: met[i].table()}
		if len(met) > 1 {
			c.How = met[i].how()
		}
		p.add(c)
	}
	why := all.unmet()
	if why == nil && len(met) == 0 && all.both() {
		why = []string{"passes before and after lie too far apart in engine speed for road speed: drive more as before"}
	}
	p.Unlike = append(p.Unlike, why...)
	for i := range groups {
		if !groups[i].both() && len(all.before) > 0 {
			p.Apart += len(groups[i].after)
		}
	}
	if len(met) == 0 {
		if len(all.before) > 0 {
			all.after = nil
		}
		p.add(Cell{Box: in.box, Table: all.table()})
	}
}

func (p *Pair) add(c Cell) {
	p.Cells = append(p.Cells, c)
	p.Table.Before += c.Table.Before
	p.Table.BeforeOf += c.Table.BeforeOf
	p.Table.After += c.Table.After
	p.Table.AfterOf += c.Table.AfterOf
}

// twoCars reports whether drives name two identification numbers. A place that is hidden fits any.
func twoCars(drives []*Result) bool {
	for i, r := range drives {
		for _, s := range drives[:i] {
			if one, two := r.Recorded.VIN, s.Recorded.VIN; one != "" && len(one) == len(two) && !fits(one, two) {
				return true
			}
		}
	}
	return false
}

func fits(one, two string) bool {
	for i := range len(one) {
		if one[i] != two[i] && one[i] != '*' && two[i] != '*' {
			return false
		}
	}
	return true
}

// reversed reports whether a drive after is earlier than one before.
func reversed(before, after []*Result) bool {
	for _, r := range before {
		for _, s := range after {
			if one, two := r.Recorded.At, s.Recorded.At; !one.IsZero() && !two.IsZero() && two.Before(one) {
				return true
			}
		}
	}
	return false
}

// blind is why a quiet drive after a repair could not have shown a shudder of so many rpm; "" where it
// could, and where it showed one.
func blind(r *Result, rpm float64) string {
	switch {
	case len(r.Events) > 0 || math.IsNaN(rpm):
		return ""
	case r.MarksUnread != "":
		return r.MarksUnread
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
	case len(p.Unlike) > 0 && (t.BeforeOf == 0 || t.AfterOf == 0 || t.Before == 0):
		p.Finding = NotAlike
	case t.BeforeOf == 0 || t.AfterOf == 0:
		p.Finding = NothingToCompare
	case t.Before == 0:
		p.Finding = NothingBefore
	case p.FeltAfter > 0:
		p.Finding = StillFelt
	case chance.Gone(p.Chance) && len(p.Unlike) > 0: // quiet where it is alike, and it shuddered elsewhere too
		p.Finding = NotAlike
	case chance.Gone(p.Chance):
		p.Finding = Gone
	default:
		p.Finding = NotShown
		var where int
		if p.More, where, p.Possible = chance.MoreOf(tables); p.Possible {
			p.Where = p.Cells[where].Words()
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
	return b.whole(r.Events)
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
			if len(in.those(first)) > 0 && len(in.those(second)) > 0 {
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
	return slices.ContainsFunc(p.places, func(in place) bool { return in.counts(x) })
}

// counts reports whether a pass is in the place: in a cell by its mean speed and load.
func (in place) counts(p *Pass) bool {
	if in.cell {
		return in.holds(p.Point())
	}
	return p.InComplaint
}

// those are the passes that are in the place.
func (in place) those(passes []Pass) (list []*Pass) {
	for i := range passes {
		if in.counts(&passes[i]) {
			list = append(list, &passes[i])
		}
	}
	return list
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
