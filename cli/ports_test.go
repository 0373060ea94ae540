package cli

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd/link"
	"github.com/judder-obd/judder/prose"
)

func TestPrintPorts(t *testing.T) {
	var out, said strings.Builder
	e := &env{out: prose.NewWriter(&out), err: prose.NewWriter(&said)}
	timer := func(ms time.Duration, tty string) link.LatencyTimer {
		return link.LatencyTimer{Wait: ms * time.Millisecond, File: "/sys/bus/usb-serial/devices/" + tty + "/latency_timer"}
	}
	err := printPorts(e, []link.Port{
		{Path: "/dev/ttyUSB0", Description: "USB serial adapter", Timer: timer(16, "ttyUSB0")},
		{Path: "/dev/ttyUSB1", Description: "USB serial adapter", Timer: timer(1, "ttyUSB1")},
		{Path: "/dev/rfcomm0", Description: "Bluetooth"},
	})
	if err != nil {
		t.Fatal(err)
	}
	const want = "/dev/ttyUSB0  USB serial adapter  latency timer 16 ms\n" +
		"/dev/ttyUSB1  USB serial adapter  latency timer 1 ms\n" +
		"/dev/rfcomm0  Bluetooth\n"
	if out.String() != want {
		t.Errorf("printed\n%s\nwant\n%s", out.String(), want)
	}
	advice := said.String()
	if strings.Count(advice, "\n") != 1 || !strings.HasPrefix(advice, "judder: /dev/ttyUSB0: ") ||
		!strings.HasSuffix(advice, "sudo tee /sys/bus/usb-serial/devices/ttyUSB0/latency_timer\n") {
		t.Errorf("advice %q; want it for the one port with a long timer", advice)
	}
}

func TestPrintPorts_None(t *testing.T) {
	var out, said strings.Builder
	if err := printPorts(&env{out: &out, err: &said}, nil); err != nil {
		t.Fatal(err)
	}
	if out.Len() != 0 || !strings.Contains(said.String(), "--port") {
		t.Errorf("printed %q, said %q; want what to do", out.String(), said.String())
	}
}
