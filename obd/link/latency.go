package link

import (
	"fmt"
	"path/filepath"
	"time"

	"github.com/judder-obd/judder/prose"
)

// LatencyTimer is how long the chip of a USB serial adapter gathers what the car has
// answered before it hands it on, when less than a whole USB packet is there. The drivers
// of chips that have one set 16 ms (common practice, no source).
type LatencyTimer struct {
	Wait time.Duration // whole milliseconds, 1 to 255
	File string        // where the kernel shows it and lets it be set
}

const (
	timerLongest = 255                  // the timer is one byte, in milliseconds (from memory)
	timerGood    = 2 * time.Millisecond // up to here nothing is worth a word
	timerShort   = time.Millisecond     // what to set
	usualReply   = 10 * time.Millisecond
)

// Latency is the latency timer of the port at path, which may be a symbolic link. Only
// Linux shows it, and not for every chip: false when it is not known.
func Latency(path string) (LatencyTimer, bool) {
	return sysfs.latency(ttyOf(path))
}

func (t tree) latency(tty string) (LatencyTimer, bool) {
	if tty == "" {
		return LatencyTimer{}, false
	}
	for _, dir := range []string{
		filepath.Join(string(t), "bus", "usb-serial", "devices", tty),
		filepath.Join(string(t), "class", "tty", tty, "device"),
	} {
		file := filepath.Join(dir, "latency_timer")
		if ms, ok := number(file); ok && ms >= 1 && ms <= timerLongest {
			return LatencyTimer{Wait: time.Duration(ms) * time.Millisecond, File: file}, true
		}
	}
	return LatencyTimer{}, false
}

// Rates are the exchanges a second that the timer leaves, one after the other, when the
// car and the wire take reply for each and this computer no time at all. sure: no reply
// waits longer than one whole timer. most: a reply is handed on when the timer runs out,
// and the next request goes out then. Replies of a full USB packet wait less.
func (t LatencyTimer) Rates(reply time.Duration) (sure, most float64) {
	if reply <= 0 || t.Wait <= 0 {
		return 0, 0
	}
	periods := (reply + t.Wait - 1) / t.Wait
	return 1 / (reply + t.Wait).Seconds(), 1 / (periods * t.Wait).Seconds()
}

// Advice says what a long timer costs and how to shorten it; "" when it is short enough.
// judder does not shorten it by itself: that takes the rights of an administrator.
func (t LatencyTimer) Advice() string {
	if t.Wait <= timerGood {
		return ""
	}
	sure, most := t.Rates(usualReply)
	better, _ := LatencyTimer{Wait: timerShort}.Rates(usualReply)
	return fmt.Sprintf("its USB latency timer is %d ms: the adapter's chip may hold each reply back that long. Where a reply takes %d ms, "+
		"that leaves %d to %d exchanges a second of %d; with 1 ms, %d or more. To set it until the adapter is pulled out: echo 1 | sudo tee %s",
		t.Wait.Milliseconds(), usualReply.Milliseconds(), int(sure), int(most), int(time.Second/usualReply), int(better), prose.Clean(t.File))
}
