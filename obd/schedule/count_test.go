package schedule

import (
	"strings"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
)

// The digit comes only where it is proven for adapter and request: the adapter's probe, and
// the same number of lines twice.
func TestSchedule_CountOnlyAfterProof(t *testing.T) {
	ecus := func(request string) int { // two know the road speed, one the rest
		if strings.Contains(request, "0D") {
			return 2
		}
		return 1
	}
	for _, a := range drive(New(obd.Capabilities{Bundle: true}, supports(ordinary...)), 30*time.Second, 50*time.Millisecond, ecus) {
		if len(a.request)%2 != 0 {
			t.Fatalf("%q that the adapter has not proved", a.request)
		}
	}
	uses, counted := map[string]int{}, 0
	for _, a := range drive(New(obd.Capabilities{Bundle: true, Count: true}, supports(ordinary...)), 30*time.Second, 50*time.Millisecond, ecus) {
		uses[a.bare()]++
		if len(a.request)%2 == 0 {
			continue
		}
		counted++
		if uses[a.bare()] <= countSteady {
			t.Errorf("%q at its use %d", a.request, uses[a.bare()])
		}
		if digit := int(a.request[len(a.request)-1] - '0'); digit != ecus(a.bare()) {
			t.Errorf("%q, but %d answer", a.request, ecus(a.bare()))
		}
	}
	if counted < 400 {
		t.Errorf("the digit was used %d times in 600", counted)
	}
}

// only is a schedule that has one request, and its first uses are behind it.
func only(t *testing.T) *Schedule {
	t.Helper()
	s := New(obd.Capabilities{Bundle: true, Count: true}, supports(obd.EngineSpeed))
	for range countSteady {
		if r := s.Next(0); r != "010C" {
			t.Fatalf("begins with %q", r)
		}
		s.Answered("010C", 2)
	}
	return s
}

func TestSchedule_CountGivenUpWhenShort(t *testing.T) {
	s := only(t)
	for i := range countGiveUp {
		if r := s.Next(0); r != "010C2" {
			t.Fatalf("use %d: %q", i, r)
		}
		s.Answered("010C2", 1)
	}
	for range 2 * countCheck {
		r := s.Next(0)
		if r != "010C" {
			t.Fatalf("given up, and yet %q", r)
		}
		s.Answered(r, 2)
	}
}

// Short now and then is a lost line, not a wrong digit.
func TestSchedule_CountKeptWhenShortNowAndThen(t *testing.T) {
	s := only(t)
	for i := range 100 {
		if r := s.Next(0); r != "010C2" {
			t.Fatalf("use %d: %q", i, r)
		}
		s.Answered("010C2", 1+min(1, i%3))
	}
}

// Silence proves nothing, neither for nor against.
func TestSchedule_CountAndSilence(t *testing.T) {
	s := only(t)
	for range 50 {
		s.Answered(s.Next(0), 0)
	}
	if r := s.Next(0); r != "010C2" {
		t.Errorf("after silence %q", r)
	}
	s = New(obd.Capabilities{Count: true}, supports(obd.EngineSpeed))
	for range 50 {
		if r := s.Next(0); r != "010C" {
			t.Fatalf("never answered, and yet %q", r)
		}
		s.Answered("010C", 0)
	}
}

// An ECU that wakes late is found out by asking without the digit now and then.
func TestSchedule_CountFollowsAnotherECU(t *testing.T) {
	s := only(t)
	ecus, plain := 3, 0
	var last string
	for range 2 * countCheck {
		last = s.Next(0)
		n := ecus
		if len(last)%2 == 1 {
			n = min(n, int(last[len(last)-1]-'0'))
		} else {
			plain++
		}
		s.Answered(last, n)
	}
	if last = s.Next(0); last != "010C3" {
		t.Errorf("after %d uses: %q", 2*countCheck, last)
	}
	if plain == 0 || plain > 10 {
		t.Errorf("%d times without the digit", plain)
	}
}

func TestSchedule_CountNotBeyondNine(t *testing.T) {
	s := New(obd.Capabilities{Count: true}, supports(obd.EngineSpeed))
	for range 50 {
		r := s.Next(0)
		if r != "010C" {
			t.Fatalf("%q", r)
		}
		s.Answered(r, 10)
	}
}

// Where one ECU is asked alone and its reply is one frame (ISO 15765-2), the digit follows
// from what other requests brought; a reply that stays away takes it back.
func TestSchedule_CountGuessed(t *testing.T) {
	can := obd.Capabilities{Bundle: true, Count: true, Focus: "7E8"}
	unproven := 0
	for _, a := range drive(New(can, supports(ordinary...)), 30*time.Second, 50*time.Millisecond, func(string) int { return 1 }) {
		if len(a.request)%2 == 0 && fitsFrame(a.request) {
			unproven++
		}
	}
	if unproven > 2 { // one check of the digit in 500 uses
		t.Errorf("%d requests without the digit, though each brings one frame", unproven)
	}
	s := New(can, supports(obd.EngineSpeed, 0x0D, 0x11))
	first := s.Next(0)
	if len(first)%2 == 0 {
		t.Fatalf("begins with %q", first)
	}
	s.Answered(first, 0)
	for range 3 {
		if r := s.Next(0); strings.HasPrefix(first, r) && len(r)%2 == 1 {
			t.Errorf("%q again, though it brought nothing", r)
		}
		s.Answered(s.last.request, 1)
	}
}

func TestFitsFrame(t *testing.T) {
	for request, want := range map[string]bool{
		"010C": true, "010C0D": true, "010C11": true, "010C10": true, // 1 + 3 + 3 bytes
		"010C1011": false, "0106": false, "01A4": false, "22F40C": false, "ATI": false, "": false,
	} {
		if got := fitsFrame(request); got != want {
			t.Errorf("%s: %v", request, got)
		}
	}
}

// "Wait" was counted as the reply: the digit is left out for some time.
func TestSchedule_Uncount(t *testing.T) {
	if New(obd.Capabilities{Count: true}, supports(obd.EngineSpeed)).Uncount("010C1") {
		t.Error("nothing was asked yet")
	}
	s := only(t)
	if s.Uncount("010C") || s.Uncount("010D2") {
		t.Error("a request without the digit, or another one")
	}
	for range countPause {
		s.Answered(s.Next(0), 2)
	}
	if r := s.Next(0); r != "010C2" || !s.Uncount(r) {
		t.Fatalf("%q has no digit, or none that counts", r)
	}
	for i := range countPause {
		r := s.Next(0)
		if r != "010C" {
			t.Fatalf("%d after it: %q", i, r)
		}
		s.Answered(r, 2)
	}
	if r := s.Next(0); r != "010C2" {
		t.Errorf("later: %q", r)
	}
}

// Three replies in a row with fewer lines than the request brought once are reported, once.
func TestSchedule_Starved(t *testing.T) {
	s := New(obd.Capabilities{}, supports(obd.EngineSpeed))
	for i, lines := range []int{2, 1, 1, 2, 1, 0} {
		if s.Answered(s.Next(0), lines); s.Starved() {
			t.Fatalf("starved after reply %d", i)
		}
	}
	if s.Answered(s.Next(0), 1); !s.Starved() {
		t.Error("three with fewer lines")
	}
	if s.Starved() {
		t.Error("reported twice")
	}
}

// The digit is one decimal place.
func TestSchedule_CountNine(t *testing.T) {
	s := New(obd.Capabilities{Count: true}, supports(obd.EngineSpeed))
	for range countSteady {
		s.Answered(s.Next(0), 9)
	}
	if r := s.Next(0); r != "010C9" {
		t.Errorf("%q", r)
	}
}
