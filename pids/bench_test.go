package pids

import "testing"

func BenchmarkDecodeEngineSpeed(b *testing.B) {
	p, data := Lookup(0x0C), []byte{0x1A, 0xF8}
	values := make([]Value, 0, 8)
	b.ReportAllocs()
	for b.Loop() {
		values, _ = p.Append(values[:0], data)
	}
	if len(values) != 1 || values[0].Value != 1726 {
		b.Fatal(values)
	}
}

// BenchmarkDecodeBundle is a reply of six PIDs, from its bytes to the readings.
func BenchmarkDecodeBundle(b *testing.B) {
	reply := unhex(b, "0C 1A F8 0D 64 11 33 04 3F 05 7B 0B 21")
	asked := []byte{0x0C, 0x0D, 0x11, 0x04, 0x05, 0x0B}
	parts := make([]Part, 0, 6)
	values := make([]Value, 0, 8)
	b.ReportAllocs()
	for b.Loop() {
		var err error
		if parts, err = Split(parts[:0], reply, asked...); err != nil {
			b.Fatal(err)
		}
		values = values[:0]
		for _, p := range parts {
			if values, err = p.PID.Append(values, p.Data); err != nil {
				b.Fatal(err)
			}
		}
	}
	if len(values) != 6 {
		b.Fatal(values)
	}
}

func BenchmarkDecodeRecord(b *testing.B) {
	p, data := Lookup(0x6D), make([]byte, 11)
	data[0] = 0x3F
	values := make([]Value, 0, 8)
	b.ReportAllocs()
	for b.Loop() {
		values, _ = p.Append(values[:0], data)
	}
	if len(values) != 6 {
		b.Fatal(values)
	}
}

// TestDecode_DoesNotAllocate holds what the benchmarks show.
func TestDecode_DoesNotAllocate(t *testing.T) {
	reply, asked := []byte{0x0C, 0x1A, 0xF8, 0x0D, 0x64}, []byte{0x0C, 0x0D}
	parts, values := make([]Part, 0, 4), make([]Value, 0, 4)
	if n := testing.AllocsPerRun(100, func() {
		parts, _ = Split(parts[:0], reply, asked...)
		values = values[:0]
		for _, p := range parts {
			values, _ = p.PID.Append(values, p.Data)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
	if len(values) != 2 {
		t.Errorf("%d values, want 2", len(values))
	}
}
