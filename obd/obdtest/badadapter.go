package obdtest

import (
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"time"

	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/link"
)

// BadAdapter is an adapter of few words, written apart from the simulated car, so that a fault of
// one is not that of both. RPM counts up, so that order shows.
type BadAdapter struct {
	Header  string // as AT SH set it
	Filter  string
	Asked   int // requests to the car
	RPM     int
	Patient bool // AT AT0 and a long AT ST
	Resets  int

	Car       func(b *BadAdapter, request string) (lines []string, prompt bool)
	Number    string                                 // AT DPN
	Strike    func(command string) (lines []string)  // what happens instead of an answer; nil or none: nothing
	RawStrike func(line string) (lines []string)     // strike with the line as it came, spaces and all
	Bare      bool                                   // no headers, whatever is set
	Gone      bool                                   // hangs up instead of its next answer
	Later     func(after time.Duration, line string) // puts out a line unasked; set by serve
}

// Setting answers an AT command.
func (b *BadAdapter) Setting(command string) []string {
	switch {
	case command == "ATZ" || command == "ATWS" || command == "ATI":
		if command != "ATI" {
			b.Header, b.Filter, b.Patient = "7DF", "", false
			b.Bare = b.Bare && b.Strike == nil
			b.Resets++
		}
		return []string{"ELM327 v1.5"}
	case command == "ATDPN":
		return []string{b.Number}
	case strings.HasPrefix(command, "ATSH"):
		b.Header = command[4:]
	case strings.HasPrefix(command, "ATCRA"):
		b.Filter = command[5:]
	case command == "ATAT0":
		b.Patient = true
	case command == "ATAT1":
		b.Patient = false
	}
	return []string{"OK"}
}

// Serve answers until the pipe closes: 8 ms a command, a second more a request while patient.
func (b *BadAdapter) Serve(far net.Conn) {
	var late sync.WaitGroup
	defer late.Wait()
	b.Later = func(after time.Duration, line string) {
		late.Go(func() {
			time.Sleep(after) // simulated
			_, _ = io.WriteString(far, line+"\r")
		})
	}
	buf, line := make([]byte, 64), ""
	for {
		n, err := far.Read(buf)
		if err != nil {
			return
		}
		for _, c := range buf[:n] {
			if c != '\r' {
				line += string(rune(c))
				continue
			}
			raw, command := line, strings.TrimSpace(line)
			line = ""
			time.Sleep(8 * time.Millisecond)
			lines, prompt := []string(nil), true
			if b.Strike != nil {
				lines = b.Strike(command)
			}
			if b.RawStrike != nil {
				lines = b.RawStrike(raw)
			}
			switch {
			case b.Gone:
				_ = far.Close() // a pipe has no errors to report
				return
			case lines != nil:
			case strings.HasPrefix(command, "AT"):
				lines = b.Setting(command)
			default:
				b.Asked++
				if lines, prompt = b.Car(b, command[:len(command)&^1]); b.Patient {
					time.Sleep(time.Second)
				}
			}
			text := strings.Join(lines, "\r") + "\r"
			if prompt {
				text += "\r>"
			}
			if _, err := far.Write([]byte(text)); err != nil {
				return
			}
		}
	}
}

// Engine answers as one ECU with engine speed, road speed and throttle would.
func (b *BadAdapter) Engine(head, request string) string {
	data := "41"
	for i := 2; i < len(request); i += 2 {
		switch pid := request[i : i+2]; pid {
		case "00":
			data += "0000188000"
		case "0C":
			b.RPM++
			data += fmt.Sprintf("0C%04X", 4000+b.RPM%4000)
		case "0D", "11":
			data += pid + "32"
		}
	}
	if data == "41" {
		return "NO DATA"
	}
	if b.Bare {
		return data
	}
	return fmt.Sprintf("%s%02X%s", head, len(data)/2, data)
}

// Open opens a pipe to the adapter; served ends when it has hung up.
func (b *BadAdapter) Open(served *sync.WaitGroup) func(context.Context, int) (elm.Link, error) {
	if b.Number == "" {
		b.Number = "A6"
	}
	return func(context.Context, int) (elm.Link, error) {
		near, far := net.Pipe()
		served.Go(func() { b.Serve(far) })
		return link.Over(near, "test"), nil
	}
}
