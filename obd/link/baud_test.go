package link

import (
	"errors"
	"io"
	"net"
	"strings"
	"syscall"
	"testing"

	"go.bug.st/serial"
)

func TestSetBaud_TellsTheDriver(t *testing.T) {
	f := newFakePort()
	l := over(f)
	if err := l.SetBaud(115200); err != nil {
		t.Fatal(err)
	}
	want := serial.Mode{BaudRate: 115200, DataBits: 8, Parity: serial.NoParity, StopBits: serial.OneStopBit}
	if len(f.modes) != 1 || f.modes[0] != want {
		t.Errorf("the driver got %+v, want %+v", f.modes, want)
	}
	if l.String() != "fake at 115200 baud" {
		t.Errorf("the link is %q", l)
	}
}

func TestSetBaud_OnlySerial(t *testing.T) {
	l, _ := Pipe()
	err := l.SetBaud(115200)
	if !errors.Is(err, ErrNotSerial) || !errors.Is(err, errors.ErrUnsupported) {
		t.Errorf("SetBaud on a pipe = %v; want ErrNotSerial and errors.ErrUnsupported", err)
	}
	if tcp, _ := tcpPair(t); !errors.Is(tcp.SetBaud(115200), ErrNotSerial) {
		t.Error("SetBaud on TCP; want ErrNotSerial")
	}
}

// TestSetBaud_Fails: each failure has its error, and none changes what String says.
func TestSetBaud_Fails(t *testing.T) {
	for name, c := range map[string]struct {
		baud  int
		fault error
		want  error
	}{
		"no speed":  {0, nil, ErrSpeed},
		"below 0":   {-9600, nil, ErrSpeed},
		"refused":   {12345, coded(serial.InvalidSpeed), ErrSpeed},
		"unknown":   {12345, syscall.EINVAL, ErrSpeed},
		"unplugged": {115200, goneErrors[0], io.ErrClosedPipe},
		"hung up":   {115200, coded(serial.PortClosed), io.ErrClosedPipe},
	} {
		f := newFakePort()
		f.modeFails = c.fault
		l := over(f)
		err := l.SetBaud(c.baud)
		if !errors.Is(err, c.want) || name == "unknown" && !errors.Is(err, c.fault) {
			t.Errorf("%s: SetBaud = %v; want %v", name, err, c.want)
		}
		if strings.Contains(l.String(), "baud") || len(f.modes) != 0 {
			t.Errorf("%s: the link is now %q, modes %v", name, l, f.modes)
		}
	}
}

// TestSetBaud_RefusedThenGoesOn: where the driver keeps the port, the link is still good.
func TestSetBaud_RefusedThenGoesOn(t *testing.T) {
	f := newFakePort()
	f.modeFails = coded(serial.InvalidSpeed)
	l := over(f)
	if err := l.SetBaud(12345); !errors.Is(err, ErrSpeed) {
		t.Fatalf("SetBaud = %v; want ErrSpeed", err)
	}
	f.data <- '>'
	n, err := l.Read(make([]byte, 8))
	if lost := errors.Is(err, io.EOF); lost != refusedSpeedCloses || !lost && n != 1 {
		t.Errorf("Read afterwards = %d, %v", n, err)
	}
}

func TestSetBaud_AfterClose(t *testing.T) {
	f := newFakePort()
	l := over(f)
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	if err := l.SetBaud(115200); !errors.Is(err, net.ErrClosed) {
		t.Errorf("SetBaud after Close = %v; want net.ErrClosed", err)
	}
	if f.lateCalls != 0 {
		t.Error("the call reached the library, whose handle may be another file's by now")
	}
}

func TestSetBaud_GivenUpPort(t *testing.T) {
	c := newSerialConn(newFakePort())
	c.giveUp()
	l := &Link{name: "fake", serial: true, conn: c}
	if err := l.SetBaud(115200); !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("SetBaud = %v; want io.ErrClosedPipe", err)
	}
}
