package bench

import (
	"maps"
	"runtime"
	"slices"
	"sync"

	"github.com/judder-obd/judder/detect"
)

// Plan is what is measured: drives, each laid out once and read in every way, with every change
// of the detector's numbers.
type Plan struct {
	Scenes  []Scene
	Askings []Asking
	Changes []map[string]float64 // nil: the standard numbers alone
	Workers int                  // 0: one for each core
	Oracle  bool                 // ask the oracle, too: it takes its time
}

// Run scores the drives of a plan and returns the figures by asking and change. The result does not
// depend on the number of workers.
func Run(p Plan) [][]*Figures {
	if len(p.Changes) == 0 {
		p.Changes = []map[string]float64{nil}
	}
	if p.Workers == 0 {
		p.Workers = runtime.GOMAXPROCS(0)
	}
	parts := make([][][]*Figures, len(p.Scenes))
	next := make(chan int)
	var busy sync.WaitGroup
	for range p.Workers {
		busy.Go(func() {
			for i := range next {
				parts[i] = p.scene(p.Scenes[i])
			}
		})
	}
	for i := range p.Scenes {
		next <- i
	}
	close(next)
	busy.Wait()
	sum := p.empty()
	for _, part := range parts {
		for a := range sum {
			for c := range sum[a] {
				sum[a][c].merge(part[a][c])
			}
		}
	}
	return sum
}

func (p *Plan) empty() [][]*Figures {
	sum := make([][]*Figures, len(p.Askings))
	for a := range sum {
		for _, change := range p.Changes {
			f := newFigures(change)
			f.oracle = p.Oracle
			sum[a] = append(sum[a], f)
		}
	}
	return sum
}

// scene lays one drive out and scores it.
func (p *Plan) scene(s Scene) [][]*Figures {
	part := p.empty()
	drive := s.lay()
	for a, asking := range p.Askings {
		d := drive.Read(asking)
		for _, f := range part[a] {
			f.Score(d)
		}
	}
	return part
}

// merge adds the figures of other drives.
func (f *Figures) merge(g *Figures) {
	f.Mid, f.Big, f.Short = f.Mid.plus(g.Mid), f.Big.plus(g.Big), f.Short.plus(g.Short)
	for i := range f.Oracle {
		f.Oracle[i] = f.Oracle[i].plus(g.Oracle[i])
	}
	f.Torn = f.Torn.plus(g.Torn)
	f.Timing.HillSwing = append(f.Timing.HillSwing, g.Timing.HillSwing...)
	plus(f.Split, g.Split)
	plus(f.On, g.On)
	plus(f.StopsRight, g.StopsRight)
	plus(f.Named, g.Named)
	for _, m := range []struct{ to, from map[detect.Finding]int }{{f.Verdicts.Clean, g.Verdicts.Clean}, {f.Verdicts.Faulty, g.Verdicts.Faulty}, {f.Verdicts.Untied, g.Verdicts.Untied}} {
		for k, n := range m.from {
			m.to[k] += n
		}
	}
	for k, n := range g.False {
		f.False[k] += n
	}
	for k, n := range g.Why {
		f.Why[k] += n
	}
	f.Timing.Delay, f.Timing.Start = append(f.Timing.Delay, g.Timing.Delay...), append(f.Timing.Start, g.Timing.Start...)
	f.Timing.End, f.Timing.Swing = append(f.Timing.End, g.Timing.End...), append(f.Timing.Swing, g.Timing.Swing...)
	f.Hours += g.Hours
	f.Judged += g.Judged
	f.FalseN += g.FalseN
	f.StopsInvented += g.StopsInvented
	f.Notes = append(f.Notes, g.Notes...)
}

func (c Count) plus(d Count) Count { return Count{c.Hit + d.Hit, c.Of + d.Of} }

func plus[K comparable](to, from map[K]Count) {
	for k, c := range from {
		to[k] = to[k].plus(c)
	}
}

// keys are the keys of a map in order.
func keys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
