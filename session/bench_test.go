package session

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/session/recording"
)

// hourOfDriving is an hour at 25 exchanges a second, each with engine speed and one more
// reading: a steady cruise, the dearest kind to judge, with a stop every ten minutes.
func hourOfDriving(yield func(recording.Entry)) {
	const exchanges = 90_000
	others := []string{"0D50", "1133", "045A", "057B"}
	for i := range exchanges {
		at := time.Duration(i) * 40 * time.Millisecond
		s := at.Seconds()
		rpm := 1700 + 4*math.Sin(7*s) + 3*math.Sin(31*s) + 20*math.Sin(s/20)
		other := others[i%len(others)]
		if math.Mod(s, 600) < 20 {
			rpm = 0
			switch other {
			case "0D50":
				other = "0D00"
			case "1133":
				other = "1126" // closed
			}
		}
		yield(recording.OfExchange(obd.Exchange{
			Sent: at, Request: "010C" + other[:2] + "1", Done: at + 12*time.Millisecond, Form: obd.FormCAN11,
			Lines: []obd.Line{{At: at + 11*time.Millisecond, Text: fmt.Sprintf("7E806410C%04X%sAA", int(4*rpm), other)}},
		}))
	}
}

// BenchmarkReviewHour is the review of an hour's recording, all in: read, checked, decoded,
// judged.
func BenchmarkReviewHour(b *testing.B) {
	path := filepath.Join(b.TempDir(), "hour.jsonl")
	w, err := recording.Create(path, recording.Header{})
	if err != nil {
		b.Fatal(err)
	}
	hourOfDriving(func(e recording.Entry) {
		if err := w.Append(e); err != nil {
			b.Fatal(err)
		}
	})
	if err := w.Close("made"); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r, err := Review(path)
		if err != nil || r.Damage != "" || r.Verdict.Testable < 40*time.Minute {
			b.Fatal(err, r.Damage, r.Verdict)
		}
	}
}

// BenchmarkTake is one exchange through the pump: decoded, analysed, put on the board.
func BenchmarkTake(b *testing.B) {
	var entries []recording.Entry
	hourOfDriving(func(e recording.Entry) { entries = append(entries, e) })
	b.ReportAllocs()
	a, brd, i := NewAnalysis(nil), board{}, 0
	for b.Loop() {
		if i == len(entries) {
			a, brd, i = NewAnalysis(nil), board{}, 0
		}
		brd.show(a, &entries[i], a.Take(&entries[i]))
		i++
	}
}

// BenchmarkSnapshot is what one frame of the screen copies.
func BenchmarkSnapshot(b *testing.B) {
	r := &Live{analysis: NewAnalysis(nil), since: func() time.Duration { return time.Hour }}
	hourOfDriving(func(e recording.Entry) { r.take(e, r.analysis.decode(&e)) })
	var s Snapshot
	b.ReportAllocs()
	for b.Loop() {
		r.Snapshot(&s)
	}
}
