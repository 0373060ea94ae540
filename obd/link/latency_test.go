package link

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"
)

// put writes a file of a tree with the folders it needs.
func put(t *testing.T, text string, elem ...string) {
	t.Helper()
	path := filepath.Join(elem...)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// point makes a symbolic link with the folders it needs.
func point(t *testing.T, to string, elem ...string) {
	t.Helper()
	path := filepath.Join(elem...)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(to, path); err != nil {
		t.Skipf("no symbolic links here: %v", err)
	}
}

func TestLatency_BothPlaces(t *testing.T) {
	for _, place := range []string{"bus/usb-serial/devices/ttyUSB3", "class/tty/ttyUSB3/device"} {
		root := t.TempDir()
		put(t, "16\n", root, filepath.FromSlash(place), "latency_timer")
		timer, ok := tree(root).latency("ttyUSB3")
		if !ok || timer.Wait != 16*time.Millisecond || timer.File != filepath.Join(root, filepath.FromSlash(place), "latency_timer") {
			t.Errorf("%s: %+v, %v; want 16 ms and its file", place, timer, ok)
		}
		if timer, ok := tree(root).latency("ttyUSB4"); ok {
			t.Errorf("%s: another port has %v", place, timer)
		}
	}
}

func TestLatency_Unknown(t *testing.T) {
	for _, text := range []string{"", "0", "-16", "256", "16 ms", "0x10", "\x1b[2J", "99999999999999999999"} {
		root := t.TempDir()
		put(t, text, root, "bus", "usb-serial", "devices", "ttyUSB0", "latency_timer")
		if timer, ok := tree(root).latency("ttyUSB0"); ok || timer != (LatencyTimer{}) {
			t.Errorf("%q: %v, want unknown", text, timer)
		}
	}
	for _, path := range []string{"", "/dev/no-such-port", t.TempDir(), "tcp://192.168.0.10:35000"} {
		if timer, ok := Latency(path); ok {
			t.Errorf("Latency(%q) = %v, want unknown", path, timer)
		}
	}
}

// TestTtyOf_ThroughLinks: the stable names under /dev/serial are links.
func TestTtyOf_ThroughLinks(t *testing.T) {
	dev := t.TempDir()
	put(t, "", dev, "ttyUSB7")
	point(t, filepath.Join("..", "..", "ttyUSB7"), dev, "serial", "by-id", "usb-adapter-port0")
	if got := ttyOf(filepath.Join(dev, "serial", "by-id", "usb-adapter-port0")); got != "ttyUSB7" {
		t.Errorf("ttyOf = %q, want ttyUSB7", got)
	}
	if got := ttyOf(filepath.Join(dev, "ttyUSB8")); got != "" {
		t.Errorf("ttyOf of a path that is not there = %q", got)
	}
}

func TestAdvice(t *testing.T) {
	timer := LatencyTimer{Wait: 16 * time.Millisecond, File: "/sys/bus/usb-serial/devices/ttyUSB0/latency_timer"}
	text := timer.Advice()
	for _, want := range []string{"16 ms", "38 to 62 exchanges a second of 100", "90 or more", "echo 1 | sudo tee " + timer.File} {
		if !strings.Contains(text, want) {
			t.Errorf("advice %q; want %q in it", text, want)
		}
	}
	for _, short := range []time.Duration{0, 1, 2} {
		if text := (LatencyTimer{Wait: short * time.Millisecond}).Advice(); text != "" {
			t.Errorf("%d ms: advice %q, want none", short, text)
		}
	}
	timer.File = "/sys/\x1b[2J"
	if strings.ContainsFunc(timer.Advice(), unicode.IsControl) {
		t.Errorf("control character in %q", timer.Advice())
	}
}

// TestRates_AgainstAChip plays a chip that hands on what it has each time its timer runs
// out, and a computer that takes up to 3 ms for its next request. Computed here.
func TestRates_AgainstAChip(t *testing.T) {
	const exchanges = 10_000
	random := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ wait, reply time.Duration }{{16, 10}, {16, 2}, {16, 20}, {4, 10}, {1, 10}} {
		wait, reply := c.wait*time.Millisecond, c.reply*time.Millisecond
		sure, most := LatencyTimer{Wait: wait}.Rates(reply)
		var now, waited time.Duration // the timer runs out at whole multiples of wait
		for range exchanges {
			asked := now + time.Duration(random.Int64N(int64(3*time.Millisecond)))
			now = (asked + reply + wait - 1) / wait * wait
			waited += now - asked
		}
		if rate := exchanges / waited.Seconds(); rate < sure {
			t.Errorf("timer %v, reply %v: %.1f a second without the computer's own time, %.1f were sure", wait, reply, rate, sure)
		}
		if rate := exchanges / now.Seconds(); rate > most {
			t.Errorf("timer %v, reply %v: %.1f a second, %.1f at most were possible", wait, reply, rate, most)
		}
	}
}

func TestRates_OfNothing(t *testing.T) {
	if sure, most := (LatencyTimer{}).Rates(usualReply); sure != 0 || most != 0 {
		t.Errorf("no timer: %v, %v", sure, most)
	}
	if sure, most := (LatencyTimer{Wait: timerShort}).Rates(0); sure != 0 || most != 0 {
		t.Errorf("no reply time: %v, %v", sure, most)
	}
}

// FuzzLatency: whatever the kernel's file holds, the timer is a sensible one or not known.
func FuzzLatency(f *testing.F) {
	for _, text := range []string{"16\n", "1", "0", "256", "-1", "+7", "\x00", "1e3"} {
		f.Add(text)
	}
	file := filepath.Join("bus", "usb-serial", "devices", "ttyUSB0", "latency_timer")
	f.Fuzz(func(t *testing.T, text string) {
		root := t.TempDir()
		put(t, text, root, file)
		timer, ok := tree(root).latency("ttyUSB0")
		if ok != (timer.Wait >= time.Millisecond && timer.Wait <= 255*time.Millisecond) {
			t.Errorf("%q: %v, %v", text, timer.Wait, ok)
		}
		if strings.ContainsFunc(timer.Advice(), unicode.IsControl) {
			t.Errorf("%q: control character in %q", text, timer.Advice())
		}
	})
}
