package session

import (
	"math"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/detect"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/pids"
	"github.com/judder-obd/judder/session/recording"
)

// boardSpan is how much history the board keeps for the charts.
const boardSpan = 2 * time.Minute

// rateSpan is over how long the readings a second are counted.
const rateSpan = 10 * time.Second

// board is the state of the session that a screen shows.
type board struct {
	lanes        []*lane
	computed     *lane // of slip; nil while there is none
	swing, limit history
	link         Link
	said         string // the latest recorded text that explains how the link is
	share        shareMeter
	lost         bool          // the link, as last seen
	since        time.Duration // when it was there again; readings a second are counted from then
}

type lane struct {
	Lane
	points history
}

// history is a list of points that drops the oldest, in bulk.
type history struct {
	points []Point
}

func (h *history) add(p Point) {
	h.points = append(h.points, p)
	const slack = 1024
	if n := h.oldest(p.At - boardSpan); n > slack {
		h.points = append(h.points[:0], h.points[n:]...)
	}
}

// oldest is the index of the first point not before t.
func (h *history) oldest(t time.Duration) int {
	i, _ := slices.BinarySearchFunc(h.points, t, func(p Point, t time.Duration) int { return int(p.At - t) })
	return i
}

// since copies the points not before t.
func (h *history) since(t time.Duration, dst []Point) []Point {
	return append(dst[:0], h.points[h.oldest(t):]...)
}

// order of the lanes: what decides first, then by name.
var order = []pids.Signal{pids.RPM, pids.VSS, pids.TP, pids.TPR, pids.APPD, pids.APPR,
	pids.LoadPct, pids.LoadAbs, pids.MAP, pids.ECT, pids.VPWR}

// show puts an entry on the board that was analysed, and the readings in it.
func (b *board) show(a *Analysis, e *recording.Entry, samples []pids.Sample) {
	for _, s := range samples {
		b.sample(s, a)
	}
	b.addComputed(a)
	b.entry(e, len(samples) > 0)
	b.follow(a, e.At)
	b.look(a.detector.Latest())
}

func (b *board) sample(s pids.Sample, a *Analysis) {
	l := b.lane(s.ECU, s.Signal, a)
	l.Value, l.At = s.Value, s.At
	l.points.add(Point{s.At, s.Value})
}

func (b *board) lane(ecu string, signal pids.Signal, a *Analysis) *lane {
	for _, l := range b.lanes {
		if l.Signal == signal && l.ECU == ecu {
			return l
		}
	}
	l := &lane{Lane: Lane{Signal: signal, ECU: ecu}}
	l.Name, l.Unit = a.About(signal)
	l.Role, l.Step = a.slip.roles[signal], a.step(signal)
	b.lanes = append(b.lanes, l)
	slices.SortStableFunc(b.lanes, func(a, c *lane) int {
		if d := rank(a.Signal) - rank(c.Signal); d != 0 {
			return d
		}
		if d := strings.Compare(string(a.Signal), string(c.Signal)); d != 0 {
			return d
		}
		return strings.Compare(a.ECU, c.ECU)
	})
	return l
}

func rank(s pids.Signal) int {
	if i := slices.Index(order, s); i >= 0 {
		return i
	}
	return len(order)
}

// follow blanks the lanes when the link is lost: what they hold is of another moment.
func (b *board) follow(a *Analysis, at time.Duration) {
	lost := a.link.open() != nil
	if b.lost && !lost {
		b.since = at
	}
	if lost && !b.lost {
		for _, l := range b.lanes {
			l.Value, l.At = math.NaN(), at
			l.points.add(Point{at, math.NaN()})
		}
	}
	b.lost = lost
}

func (b *board) entry(e *recording.Entry, read bool) {
	switch e.Kind {
	case recording.KindExchange:
		b.share.exchange(&e.Exchange)
		if isRequest(e.Exchange.Request) {
			b.link.Exchanges++
		}
	case recording.KindLink:
		b.link.change(&e.Link)
		if isReason(e.Link.Cause) {
			b.said = e.Link.Text
		}
	}
	if read { // whatever is still being set up, the car is read
		b.link.State, b.link.Reason = obd.LinkCar, LinkReason{}
	}
}

// change takes a change of the link.
func (l *Link) change(c *obd.LinkChange) {
	l.State, l.Text, l.Cause = c.State, c.Text, c.Cause
	switch {
	case c.State >= obd.LinkCar:
		l.Reason = LinkReason{}
	case isReason(c.Cause):
		l.Reason = LinkReason{c.Cause, c.Text}
	}
}

func isRequest(request string) bool { return !strings.HasPrefix(request, "AT") }

// look puts the detector's latest swing and limit on the board, once each.
func (b *board) look(l detect.Look) {
	if n := len(b.swing.points); n > 0 && b.swing.points[n-1].At >= l.At {
		return
	}
	b.swing.add(Point{l.At, l.SwingRPM})
	b.limit.add(Point{l.At, l.LimitRPM})
}

// fill copies the board into a snapshot, whose slices are reused.
func (b *board) fill(dst *Snapshot, now time.Duration) {
	from := now - boardSpan
	dst.Link = b.link
	dst.Link.HostShare = b.share.median()
	dst.Swing = b.swing.since(from, dst.Swing)
	dst.Limit = b.limit.since(from, dst.Limit)
	dst.Lanes = slices.Grow(dst.Lanes[:0], len(b.lanes))[:len(b.lanes)]
	for i, l := range b.lanes {
		keep := dst.Lanes[i].History
		dst.Lanes[i] = l.Lane
		dst.Lanes[i].History = l.points.since(from, keep)
		dst.Lanes[i].Rate = 0
		if !b.lost {
			dst.Lanes[i].Rate = l.rate(now, b.since)
		}
	}
}

// rateLeast is the least time that readings a second are counted over: a single reading of a
// moment would make thousands.
const rateLeast = time.Second

// rate is readings a second over the last rateSpan, or over what there is of it since the link
// is there.
func (l *lane) rate(now, since time.Duration) float64 {
	span := min(now, rateSpan)
	if since > 0 {
		span = min(span, max(now-since, rateLeast))
	}
	if span <= 0 {
		return 0
	}
	return float64(len(l.points.points)-l.points.oldest(now-span)) / span.Seconds()
}
