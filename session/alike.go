package session

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/session/chance"
	"github.com/judder-obd/judder/session/complaint"
)

// Passes are alike where engine speed for road speed differs by no more than alikeShare and what whole
// km/h do to it, and where the engine was warm in both or cold in both. Our own choice: a pass that goes
// on with the same gear and clutch moves by 1 to 3 %, by converter slip, tyres and rounding; a clutch that
// opens or locks moves it by 5 to 15 %, a gear by 25 % and more (common practice, no source).
const (
	alikeShare  = 0.04
	roundingKMH = 0.5
	gearShare   = 0.2 // from here on it is a gear and no converter clutch
)

// engineSpeeds sets the engine speed of passes from the moments of their drive: that of the middle one of all
// ratios of engine to road speed, which a brake tap, that opens the clutch for a moment, moves little. Where
// a pass shook in another gear or state of the clutch than it mostly had, it is the middle one while it
// shook. A clutch that grabs and releases swings up from its locked ratio, so the mean would say nothing:
// three quarters of the moments must lie apart from the pass.
func engineSpeeds(passes []Pass, moments []kept, events []detect.Event) {
	var all, shaking tempo
	for i := range passes {
		p := &passes[i]
		all.clear()
		shaking.clear()
		first, _ := slices.BinarySearchFunc(moments, p.Start, func(k kept, at time.Duration) int { return cmp.Compare(k.end, at) })
		for k := first; k < len(moments) && moments[k].end <= p.End; k++ {
			m := moments[k].moment()
			all.add(&m)
			if slices.ContainsFunc(events, func(e detect.Event) bool { return m.start >= e.Start && m.end <= e.End }) {
				shaking.add(&m)
			}
		}
		p.EngineRPM = all.engine(p.SpeedKMH, 0.5)
		low, high := *p, *p
		low.EngineRPM, high.EngineRPM = shaking.engine(p.SpeedKMH, 0.25), shaking.engine(p.SpeedKMH, 0.75)
		if below, above := high.EngineRPM < p.EngineRPM && !sameRatio(p, &high), low.EngineRPM > p.EngineRPM && !sameRatio(p, &low); below || above {
			p.EngineRPM = shaking.engine(p.SpeedKMH, 0.5)
		}
	}
}

// tempo is how fast the engine turned at some moments, also for each km/h.
type tempo struct{ rpms, ratios []float64 }

func (t *tempo) clear() { t.rpms, t.ratios = t.rpms[:0], t.ratios[:0] }

func (t *tempo) add(m *moment) {
	if m.rpm > 0 {
		t.rpms = append(t.rpms, m.rpm)
		if m.SpeedKMH > 0 {
			t.ratios = append(t.ratios, m.rpm/m.SpeedKMH)
		}
	}
}

// engine is the engine speed at a road speed that a share of the moments stays below; NaN without any.
func (t *tempo) engine(kmh, share float64) float64 {
	if len(t.ratios) > 0 && kmh > 0 {
		return quantile(t.ratios, share) * kmh
	}
	return quantile(t.rpms, share)
}

// quantile is the value that a share of the values stays below; NaN of nothing.
func quantile(values []float64, share float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	return values[min(int(share*float64(len(values))), len(values)-1)]
}

// ratio is engine speed for road speed, rpm for each km/h; 0 where one is not known.
func (p *Pass) ratio() float64 {
	if p.EngineRPM > 0 && p.SpeedKMH > 0 {
		return p.EngineRPM / p.SpeedKMH
	}
	return 0
}

// sameRatio reports whether two passes had the same gear and converter clutch, as far as that is known.
func sameRatio(p, q *Pass) bool {
	low, high := min(p.ratio(), q.ratio()), max(p.ratio(), q.ratio())
	return low == 0 || high/low-1 <= alikeShare+roundingKMH/min(p.SpeedKMH, q.SpeedKMH)
}

// engine is how warm the engine was in a pass; "" where that is not known.
func (p *Pass) engine() complaint.Engine {
	switch {
	case math.IsNaN(p.CoolantC):
		return ""
	case p.CoolantC >= detect.WarmFromC:
		return complaint.Warm
	}
	return complaint.Cold
}

// sameEngine reports whether the engine was warm in both passes or cold in both, as far as that is known.
func sameEngine(p, q *Pass) bool {
	return p.engine() == "" || q.engine() == "" || p.engine() == q.engine()
}

// sides are passes in one set of operating conditions, before a repair and after it.
type sides struct{ before, after []*Pass }

func (s *sides) both() bool { return len(s.before) > 0 && len(s.after) > 0 }

func (s *sides) add(p *Pass, after bool) {
	if after {
		s.after = append(s.after, p)
	} else {
		s.before = append(s.before, p)
	}
}

func (s *sides) table() (t chance.Table) {
	t.BeforeOf, t.AfterOf = len(s.before), len(s.after)
	t.Before, t.After = shaken(s.before), shaken(s.after)
	return t
}

func shaken(passes []*Pass) (n int) {
	for _, p := range passes {
		if p.Shudder {
			n++
		}
	}
	return n
}

// each shows every pass to look, those before first.
func (s *sides) each(look func(p *Pass, after bool)) {
	for _, p := range s.before {
		look(p, false)
	}
	for _, p := range s.after {
		look(p, true)
	}
}

// alike parts the passes of both sides into groups that are alike.
func (s *sides) alike() (groups []sides) {
	for _, part := range s.parted(engineKnown, byEngine) {
		groups = append(groups, part.parted(ratioKnown, byRatio)...)
	}
	return groups
}

func engineKnown(p *Pass) bool { return p.engine() != "" }
func ratioKnown(p *Pass) bool  { return p.ratio() > 0 }

// unknown is by what passes of both sides cannot be told apart, because one side does not give it.
func (s *sides) unknown() (why []string) {
	for _, x := range []struct {
		known func(*Pass) bool
		words string
	}{
		{engineKnown, "how warm the engine was on one side: warm and cold passes count together"},
		{ratioKnown, "engine speed for road speed on one side: passes in any gear count together"},
	} {
		if s.both() && (!slices.ContainsFunc(s.before, x.known) || !slices.ContainsFunc(s.after, x.known)) {
			why = append(why, x.words)
		}
	}
	return why
}

// parted parts the passes by something that is known of some of them. Where no pass of one side has it
// there is nothing to part by; a single pass without it goes to the group that shook most.
func (s *sides) parted(known func(*Pass) bool, divide func(sides) []sides) []sides {
	var sure, open sides
	s.each(func(p *Pass, after bool) {
		if known(p) {
			sure.add(p, after)
		} else {
			open.add(p, after)
		}
	})
	if !sure.both() {
		return []sides{*s}
	}
	parts := divide(sure)
	most := 0
	for i := range parts {
		if shaken(parts[i].before) > shaken(parts[most].before) {
			most = i
		}
	}
	open.each(parts[most].add)
	return parts
}

func byEngine(s sides) (parts []sides) {
	for _, engine := range []complaint.Engine{complaint.Warm, complaint.Cold} {
		var part sides
		s.each(func(p *Pass, after bool) {
			if p.engine() == engine {
				part.add(p, after)
			}
		})
		if len(part.before)+len(part.after) > 0 {
			parts = append(parts, part)
		}
	}
	return parts
}

// byRatio parts passes where engine speed for road speed has its widest gap, until those of a group are
// alike.
func byRatio(s sides) []sides {
	all := slices.Concat(s.before, s.after)
	slices.SortFunc(all, func(a, b *Pass) int { return cmp.Compare(a.ratio(), b.ratio()) })
	if sameRatio(all[0], all[len(all)-1]) {
		return []sides{s}
	}
	gap, edge := 0.0, 0.0
	for i, p := range all[1:] {
		if g := p.ratio() / all[i].ratio(); g > gap {
			gap, edge = g, p.ratio()
		}
	}
	var low, high sides
	s.each(func(p *Pass, after bool) {
		if p.ratio() < edge {
			low.add(p, after)
		} else {
			high.add(p, after)
		}
	})
	return append(byRatio(low), byRatio(high)...)
}

// how are the words for what the passes of a group have in common: "1700 rpm at 80 km/h, warm".
func (s *sides) how() string {
	p := s.before[0]
	text := ratioWords(p)
	if e := p.engine(); e != "" {
		text = strings.TrimPrefix(text+", "+string(e), ", ")
	}
	return text
}

func ratioWords(p *Pass) string {
	if p.ratio() == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f rpm at %.0f km/h", p.EngineRPM, p.SpeedKMH)
}

// unmet is why passes after are not like one before: the first line is about the gear and the converter
// clutch, the second about the temperature. Of passes before with shudder one is enough; where none shook
// the first stands for all. nil where each has its like, or there is none after.
func (s *sides) unmet() (why []string) {
	if len(s.after) == 0 {
		return nil
	}
	for _, p := range s.before {
		if shaken(s.before) > 0 && !p.Shudder || slices.ContainsFunc(s.after, func(q *Pass) bool { return sameRatio(p, q) && sameEngine(p, q) }) {
			continue
		}
		q := slices.MinFunc(s.after, func(a, b *Pass) int { return cmp.Compare(p.apart(a), p.apart(b)) })
		if !sameRatio(p, q) {
			why = append(why, fmt.Sprintf("before %s, after %s: %s", ratioWords(p), ratioWords(q), p.ratioAdvice(q)))
		}
		if !sameEngine(p, q) {
			why = append(why, fmt.Sprintf("before the coolant had %.0f °C, after %.0f °C: drive with the engine as %s as before", p.CoolantC, q.CoolantC, p.engine()))
		}
		return why
	}
	return nil
}

// apart is how far another pass is from being alike; a gear is farther than a temperature.
func (p *Pass) apart(q *Pass) float64 {
	far := 0.0
	if !sameRatio(p, q) {
		far = 1 + math.Abs(math.Log(q.ratio()/p.ratio()))
	}
	if !sameEngine(p, q) {
		far += 0.5
	}
	return far
}

// ratioAdvice is how to drive as in a pass before, where another after is not like it.
func (p *Pass) ratioAdvice(q *Pass) string {
	switch x := q.ratio() / p.ratio(); {
	case x > 1+gearShare || x < 1/(1+gearShare):
		return "drive in the same gear"
	case x > 1:
		return "drive in the same gear, the converter clutch locked as before; one that no longer locks hides the shudder"
	}
	return "drive in the same gear, the converter clutch as it was before"
}
