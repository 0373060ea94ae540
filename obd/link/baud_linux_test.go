package link

import (
	"io"
	"os"
	"syscall"
	"testing"
	"time"
	"unsafe"
)

// termios2 is the kernel's struct of that name, asm-generic/termbits.h; c_ispeed and
// c_ospeed are in baud.
type termios2 struct {
	iflag, oflag, cflag, lflag uint32
	line                       byte
	cc                         [19]byte
	ispeed, ospeed             uint32
}

// tcgets2 is _IOR('T', 0x2A, struct termios2), asm-generic/ioctls.h: read (2) in the top
// two bits, then the size, 'T' and the number.
const tcgets2 = 2<<30 | unsafe.Sizeof(termios2{})<<16 | 'T'<<8 | 0x2A

// speedAt is the speed that the far end of a pseudo-terminal sees set, past the serial library.
func speedAt(t *testing.T, far *os.File) (in, out uint32) {
	t.Helper()
	var set termios2
	raw, err := far.SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	var errno syscall.Errno
	err = raw.Control(func(fd uintptr) {
		_, _, errno = syscall.Syscall(syscall.SYS_IOCTL, fd, tcgets2, uintptr(unsafe.Pointer(&set)))
	})
	if err != nil || errno != 0 {
		t.Skipf("TCGETS2: %v, %v", err, errno)
	}
	return set.ispeed, set.ospeed
}

// TestSetBaud_Pty: the kernel sees the speed, there and back between those that have a
// name in POSIX and those that have none, and what has come in stays.
func TestSetBaud_Pty(t *testing.T) {
	l, far := ptyPair(t, 38400)
	if in, out := speedAt(t, far); in != 38400 || out != 38400 {
		t.Fatalf("opened at %d in, %d out, want 38400", in, out)
	}
	_ = l.SetReadDeadline(time.Now().Add(5 * time.Second))
	for _, baud := range []int{115200, 10400, 500000, 123456, 9600} {
		if _, err := io.WriteString(far, "OK\r"); err != nil {
			t.Fatal(err)
		}
		if err := l.SetBaud(baud); err != nil {
			t.Fatalf("SetBaud(%d) = %v", baud, err)
		}
		if in, out := speedAt(t, far); in != uint32(baud) || out != uint32(baud) {
			t.Errorf("SetBaud(%d): the kernel has %d in, %d out", baud, in, out)
		}
		got := make([]byte, 3)
		if _, err := io.ReadFull(l, got); err != nil || string(got) != "OK\r" {
			t.Errorf("after SetBaud(%d) read %q, %v; want what had come in before", baud, got, err)
		}
	}
}

// TestSetBaud_PtyWhileReading: a reader that waits is neither disturbed nor in the way.
func TestSetBaud_PtyWhileReading(t *testing.T) {
	l, far := ptyPair(t, 38400)
	_ = l.SetReadDeadline(time.Now().Add(5 * time.Second))
	got := make(chan string)
	go func() {
		buffer := make([]byte, 8)
		n, _ := io.ReadAtLeast(l, buffer, 2)
		got <- string(buffer[:n])
	}()
	for _, c := range []string{"4", "1"} {
		if err := l.SetBaud(115200); err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(far, c); err != nil {
			t.Fatal(err)
		}
	}
	if text := <-got; text != "41" {
		t.Errorf("read %q, want 41", text)
	}
}
