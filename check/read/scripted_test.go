package read_test

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/check"
	"github.com/judder-obd/judder/check/losses"
	"github.com/judder-obd/judder/check/page"
	"github.com/judder-obd/judder/check/read"
	"github.com/judder-obd/judder/obd/adapter"
	"github.com/judder-obd/judder/obd/elm"
	"github.com/judder-obd/judder/obd/inquiry"
	"github.com/judder-obd/judder/obd/link"
)

// script is a car of few words behind an adapter of few words, written apart from the simulated
// one, so that a test says reply by reply what comes: request → "7E8 43 01 07 41". A request that
// is not in it gets no answer. Behind a module's header the request is "760/190203"; "07 first" is
// what comes to the first 07 alone; "ATDPN" and the like are what the adapter says.
type script map[string][]string

// plain is a car with two ECUs that have no codes: 7E8, which reports all, and 7E9. Layouts
// are those of SAE J1979.
func plain(also script) script {
	s := script{
		"0100": {"7E8 41 00 80 18 00 01", "7E9 41 00 80 00 00 00"}, "010C": {"7E8 41 0C 00 00"},
		"0120": {"7E8 41 20 00 00 00 00"}, "0101": {"7E8 41 01 00 07 E5 00", "7E9 41 01 00 00 00 00"},
		"03": {"7E8 43 00", "7E9 43 00"}, "07": {"7E8 47 00", "7E9 47 00"}, "0A": {"7E8 4A 00", "7E9 4A 00"},
		"020200": {"7E8 42 02 00 00 00", "7E9 42 02 00 00 00"}, "0600": {"7E8 46 00 00 00 00 00", "7E9 46 00 00 00 00 00"},
	}
	for request, replies := range also {
		s[request] = replies
	}
	return s
}

// frames lays a reply out as ISO 15765-2 does, filled up with AA.
func frames(t *testing.T, reply string) (lines []string) {
	t.Helper()
	id, text, _ := strings.Cut(reply, " ")
	if id == "damaged" || id == "raw" {
		return []string{text}
	}
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Errorf("%q: %v", reply, err)
	}
	line := func(b ...byte) {
		for len(b) < 8 {
			b = append(b, 0xAA)
		}
		lines = append(lines, fmt.Sprintf("%s%X", id, b))
	}
	if len(id) == 2 { // ISO 9141-2: header and sum (SAE J1979)
		b = append([]byte{0x48, 0x6B, unhex(t, id)}, b...)
		sum := byte(0)
		for _, x := range b {
			sum += x
		}
		return []string{fmt.Sprintf("%X%02X", b, sum)}
	}
	if len(b) <= 7 {
		line(append([]byte{byte(len(b))}, b...)...)
		return lines
	}
	line(append([]byte{0x10 | byte(len(b)>>8), byte(len(b))}, b[:6]...)...)
	for n, rest := 1, b[6:]; len(rest) > 0; n++ {
		part := rest[:min(7, len(rest))]
		line(append([]byte{0x20 | byte(n&15)}, part...)...)
		rest = rest[len(part):]
	}
	return lines
}

func unhex(t *testing.T, text string) byte {
	t.Helper()
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != 1 {
		t.Fatalf("%q: %v", text, err)
	}
	return b[0]
}

// serve answers until the pipe closes.
func (s script) serve(t *testing.T, far net.Conn, asked *[]string) {
	header, buf, line, times := "7DF", make([]byte, 64), "", map[string]int{}
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
			command := line
			line = ""
			*asked = append(*asked, command)
			lines := []string{"OK"}
			switch {
			case s[command] != nil && command[:2] == "AT":
				lines = s[command]
			case command == "ATZ" || command == "ATWS" || command == "ATI":
				header, lines = "7DF", []string{"ELM327 v1.5"}
			case command == "ATDPN":
				lines = []string{"A6"}
			case command == "ATRV":
				lines = []string{"12.6V"}
			case strings.HasPrefix(command, "ATSH"):
				header = command[4:]
			case !strings.HasPrefix(command, "AT"):
				lines = s.answer(t, header, command[:len(command)&^1], times)
			}
			if _, err := far.Write([]byte(strings.Join(lines, "\r") + "\r\r>")); err != nil {
				return
			}
		}
	}
}

func (s script) answer(t *testing.T, header, request string, times map[string]int) (lines []string) {
	key := request
	if header != "7DF" {
		key = header + "/" + request
	}
	if times[key]++; times[key] == 1 && s[key+" first"] != nil {
		key += " first"
	}
	for _, reply := range s[key] {
		lines = append(lines, frames(t, reply)...)
	}
	if lines == nil {
		return []string{"NO DATA"}
	}
	return lines
}

// checkOf makes a check of a scripted car, and gives what was asked.
func checkOf(t *testing.T, s script, o read.Options) (*check.Report, []string) {
	t.Helper()
	var r *check.Report
	var asked []string
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		near, far := net.Pipe()
		go s.serve(t, far, &asked)
		cfg := adapter.Config{
			Open:  func(context.Context, int) (elm.Link, error) { return link.Over(near, "scripted"), nil },
			Bauds: []int{0}, Name: "scripted", Since: func() time.Duration { return time.Since(start) },
		}
		err := inquiry.Run(t.Context(), cfg, &keep{}, time.Minute, func(q *inquiry.Inquiry) (err error) {
			r, err = read.Run(q, o)
			return err
		})
		if err != nil {
			t.Error(err)
		}
		_ = far.Close()
		synctest.Wait()
	})
	return r, asked
}

// pages are the report in words and as JSON.
func pages(t *testing.T, r *check.Report) (text, inJSON string) {
	t.Helper()
	var b strings.Builder
	j, err := json.Marshal(r)
	if err != nil || page.WriteCheck(&b, r) != nil {
		t.Fatal(err)
	}
	return b.String(), string(j)
}

// rules are the rules of a report's triage, in order.
func rules(r *check.Report) (out []check.Rule) {
	for _, a := range r.Triage {
		out = append(out, a.Rule)
	}
	return out
}

// lacks reports whether a note of an item has an outcome.
func lacks(notes []check.Note, item check.Item, kind check.Kind) bool {
	return slices.ContainsFunc(notes, func(n check.Note) bool { return n.Item == item && n.Outcome.Kind == kind })
}

// unseen are the kinds of what clearing would take unseen of an ECU.
func unseen(r *check.Report, ecu string) (out []losses.Kind) {
	for _, l := range losses.Of(r) {
		if l.Fate == losses.Unseen && l.ECU.ID == ecu {
			out = append(out, l.Kind)
		}
	}
	return out
}

func item(kind check.ItemKind) check.Item { return check.Item{Kind: kind} }

// notesText are notes as JSON has them, for messages.
func notesText(notes ...[]check.Note) string {
	var out []string
	for _, n := range slices.Concat(notes...) {
		out = append(out, n.String())
	}
	return strings.Join(out, "; ")
}
