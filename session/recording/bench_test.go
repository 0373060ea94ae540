package recording

import (
	"bytes"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// nowhere is a file that keeps nothing.
type nowhere struct{ io.Writer }

func (nowhere) Sync() error          { return nil }
func (nowhere) Truncate(int64) error { return nil }
func (nowhere) Close() error         { return nil }

// driveExchange is the n-th exchange of half an hour at 50 a second, with engine speed
// going up and down so that replies differ.
func driveExchange(n int) obd.Exchange {
	at := time.Duration(n) * 20 * time.Millisecond
	return obd.Exchange{
		Sent: at, Request: "010C0D1", Done: at + 15*time.Millisecond, Form: obd.FormCAN11,
		Lines: []obd.Line{{
			At:   at + 14*time.Millisecond,
			Text: fmt.Sprintf("7E80641 0C1%X%02X0D50", n/256%16, n%256),
		}},
	}
}

// driveFile is a whole recording of n exchanges.
func driveFile(b testing.TB, n int) []byte {
	var file memFile
	w, err := NewWriter(&file, "drive.jsonl", Header{Adapter: "simulated"})
	if err != nil {
		b.Fatal(err)
	}
	for i := range n {
		if err := w.Append(OfExchange(driveExchange(i))); err != nil {
			b.Fatal(err)
		}
	}
	if err := w.Close(WhyTime); err != nil {
		b.Fatal(err)
	}
	return file.bytes()
}

func BenchmarkAppendExchange(b *testing.B) {
	w, err := NewWriter(nowhere{io.Discard}, "x", Header{})
	if err != nil {
		b.Fatal(err)
	}
	e := OfExchange(driveExchange(4711))
	b.ReportAllocs()
	for b.Loop() {
		if err := w.Append(e); err != nil {
			b.Fatal(err)
		}
	}
	b.StopTimer()
	if err := w.Close(WhyUser); err != nil {
		b.Fatal(err)
	}
}

func BenchmarkAppendToDisk(b *testing.B) {
	w, err := Create(b.TempDir()+"/drive.jsonl", Header{})
	if err != nil {
		b.Fatal(err)
	}
	e := OfExchange(driveExchange(4711))
	b.ReportAllocs()
	for b.Loop() {
		if err := w.Append(e); err != nil {
			b.Fatal(err)
		}
	}
	b.StopTimer()
	if err := w.Close(WhyUser); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkRead reads half an hour of 50 exchanges a second.
func BenchmarkRead(b *testing.B) {
	const n = 90_000
	data := driveFile(b, n)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		r, err := NewReader(bytes.NewReader(data), "x")
		if err != nil {
			b.Fatal(err)
		}
		got := 0
		for r.Next() {
			got++
		}
		if damage := r.Damage(); got != n || damage.Any() {
			b.Fatal(got, damage.Words())
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/line")
}

func BenchmarkLoad(b *testing.B) {
	data := driveFile(b, 90_000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := LoadFrom(bytes.NewReader(data), "x"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSlowParse(b *testing.B) {
	line, err := encodeEntry(nil, &Entry{Kind: KindExchange, Exchange: driveExchange(4711)})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := slowParse(line, new(parsedLine)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTruncate(b *testing.B) {
	e := OfExchange(driveExchange(4711))
	b.ReportAllocs()
	for b.Loop() {
		e = Truncate(e)
	}
	if e.Kind != KindExchange {
		b.Fatal(e.Kind)
	}
}
