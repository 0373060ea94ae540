package detect

import "time"

// ledger keeps the spans: every second of the drive with its reason.
type ledger struct {
	spans  []Span
	judged time.Duration // of all spans
	sum    float64       // of the smallest swing, over the evaluations of the open span
	count  int
}

// add books the time up to end under a reason.
func (l *ledger) add(end time.Duration, why Reason, smallest float64) {
	last := len(l.spans) - 1
	start := time.Duration(0)
	if last >= 0 {
		start = l.spans[last].End
	}
	if end <= start {
		return
	}
	if last >= 0 && l.spans[last].Reason == why {
		l.spans[last].End = end
	} else {
		l.spans = append(l.spans, Span{Start: start, End: end, Reason: why})
		l.sum, l.count = 0, 0
		last++
	}
	if why == Judged {
		l.judged += end - start
		l.sum += smallest
		l.count++
		l.spans[last].SmallestRPM = l.sum / float64(l.count)
	}
}
