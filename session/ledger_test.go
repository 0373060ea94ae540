package session

import (
	"math"
	"runtime"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
	"github.com/judder-obd/judder/simcar"
)

// ledger is a Recorder that passes everything on to the real one and, minute by minute,
// holds what was read against what the simulated car gave.
type ledger struct {
	Recorder
	t       *testing.T
	sim     *simcar.Sim
	decoder reply.Decoder
	samples []pids.Sample

	open    map[readingKey]int // given less read, where they differ
	from    time.Duration      // what was given until then is in
	minutes int                // checked so far

	given, read, answered int
	missed, extra         int
	heap                  []uint64 // bytes in use after each minute that is looked at
	routines              []int
}

// readingKey is a reading. The pipe takes no time: it is read when it is given, to the
// microsecond.
type readingKey struct {
	ecu    string
	signal pids.Signal
	value  float64
	at     time.Duration
}

func (l *ledger) Append(e recording.Entry) error {
	if e.Kind == recording.KindExchange {
		l.samples = append(l.samples[:0], l.decoder.Decode(&e.Exchange).Samples...)
		for _, s := range l.samples {
			l.enter(readingKey{s.ECU, s.Signal, s.Value, s.At}, -1)
			l.read++
		}
		if len(l.samples) > 0 {
			l.answered++
		}
		if now := e.Exchange.Done; now > time.Duration(l.minutes+1)*time.Minute {
			l.close(now)
		}
	}
	return l.Recorder.Append(e)
}

// enter books a reading.
func (l *ledger) enter(k readingKey, n int) {
	k.value, k.at = math.Round(100*k.value)/100, k.at.Truncate(time.Microsecond)
	if l.open[k] += n; l.open[k] == 0 {
		delete(l.open, k)
	}
}

// collect books what the car gave until t.
func (l *ledger) collect(t time.Duration) {
	for _, g := range l.sim.Given() {
		if f := pids.Lookup(g.PID).Fields; g.At >= l.from && g.At < t && (len(f) == 1 || g.PID == 0x06) { // maps and states of several fields are not polled; a fuel trim may have a second bank
			l.enter(readingKey{g.ECU, f[0].Signal, g.Value, g.At}, 1)
			l.given++
		}
	}
	l.from = t
}

// underWay is how long before now an exchange may still be in the books of one side only.
const underWay = 10 * time.Second

// close judges the minute that is over.
func (l *ledger) close(now time.Duration) {
	l.collect(now)
	m := mishaps[l.minutes%len(mishaps)]
	missed, extra := l.settle(now-underWay, m.bare)
	if missed > m.inDoubt || extra > m.inDoubt {
		l.t.Errorf("minute %d, fault %d: %d readings missing, %d that were not given; up to %d are in doubt",
			l.minutes, m.fault.Kind, missed, extra, m.inDoubt)
	}
	l.missed, l.extra = l.missed+missed, l.extra+extra
	l.minutes++
	runtime.GC()
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	l.heap, l.routines = append(l.heap, mem.HeapAlloc), append(l.routines, runtime.NumGoroutine())
}

// settle takes what does not balance out of the books.
func (l *ledger) settle(before time.Duration, bare bool) (missed, extra int) {
	for k, n := range l.open {
		if k.at >= before {
			continue
		}
		if anyECU := (readingKey{"", k.signal, k.value, k.at}); bare && n > 0 && l.open[anyECU] < 0 {
			l.enter(anyECU, 1)
			l.enter(k, -1)
			n--
		}
		missed += max(0, n)
	}
	for k, n := range l.open {
		if k.at < before {
			extra += max(0, -n)
			delete(l.open, k)
		}
	}
	return missed, extra
}

// checkBooks: what was given is what was read and what is in doubt, to the reading, and the
// session has counted the same as the ledger.
func (l *ledger) checkBooks(t *testing.T, live *Live, length time.Duration) {
	t.Helper()
	if want := int(length / time.Minute); l.minutes != want {
		t.Errorf("%d minutes checked, want %d", l.minutes, want)
	}
	l.collect(length + 2*underWay) // what is left
	open := 0                      // under way at the end
	for _, n := range l.open {
		open += n
	}
	if l.given-l.missed+l.extra-open != l.read {
		t.Errorf("%d readings given, %d missed, %d extra, %d under way, but %d read", l.given, l.missed, l.extra, open, l.read)
	}
	if got := live.analysis.damaged; got != l.decoder.Counts.Damaged {
		t.Errorf("the session counts %d damaged, the ledger %d", got, l.decoder.Counts.Damaged)
	}
	struck := 0
	for _, m := range faultsOf(length) {
		if m.Kind != simcar.IgnitionOff && m.Kind != simcar.StaleValues { // states of the car, and not among the strikes
			struck++
		}
	}
	if got := len(l.sim.Strikes()); got != struck {
		t.Errorf("%d faults struck, want %d", got, struck)
	}
	if live.Outcome().Answered != l.answered {
		t.Errorf("the session counts %d exchanges with readings, the ledger %d", live.Outcome().Answered, l.answered)
	}
	if l.sim.WriteAttempts() != 0 {
		t.Errorf("%d requests would have changed the car", l.sim.WriteAttempts())
	}
}

// For half an hour the bounded memories fill: the simulated car's lists, the detector's
// knowledge of this car. What may grow after that is what was found, which is kept for the
// report.
const (
	filled        = 30 // minutes (measured)
	growthAllowed = 512 << 10
)

// checkGrowth holds the last minutes against those after an eighth of the time.
func (l *ledger) checkGrowth(t *testing.T) {
	t.Helper()
	const around = 5 // minutes; after each fault something else may be open
	early := max(len(l.heap)/8, filled)
	if len(l.heap) < early+around {
		t.Fatalf("only %d minutes, too few", len(l.heap))
	}
	least := func(heap []uint64) uint64 {
		m := heap[0]
		for _, v := range heap {
			m = min(m, v)
		}
		return m
	}
	first, last := least(l.heap[early:early+around]), least(l.heap[len(l.heap)-around:])
	t.Logf("memory in use: %d kB in minute %d, %d kB at the end; goroutines: %v, %v", first>>10, early, last>>10,
		l.routines[early:early+around], l.routines[len(l.routines)-around:])
	if last > first+growthAllowed {
		t.Errorf("memory in use grew from %d to %d bytes", first, last)
	}
	for i, n := range l.routines[1:] {
		if n > l.routines[0] {
			t.Errorf("%d goroutines in minute %d, %d in the first", n, i+1, l.routines[0])
			break
		}
	}
}
