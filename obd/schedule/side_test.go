package schedule

import (
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/obd/reply"
	"github.com/judder-obd/judder/pids/vehicle"
)

// byRole is a profile with a parameter of each role, from two modules.
func byRole() *vehicle.Profile {
	p := new(vehicle.Profile)
	for i, role := range []vehicle.Role{
		vehicle.RoleSlip, vehicle.NoRole, vehicle.RoleFluidTemp, vehicle.RoleTurbineSpeed, vehicle.RoleWantedSlip, vehicle.RoleClutchState, vehicle.RoleGear,
	} {
		module := []string{"7E1", "7E2", "7e1", "7E1", "7E1", "7E1", "7E2"}[i]
		p.Parameters = append(p.Parameters, vehicle.Parameter{Role: role, Module: module, Identifier: 0x4D00 + uint16(i)})
	}
	return p
}

// requests are those of side requests, in order.
func requests(which []*SideRequest) (out []string) {
	for _, r := range which {
		out = append(out, r.Request())
	}
	return out
}

// What moves with the clutch comes as often as a swing of 1 Hz needs, temperatures seldom (common
// practice, no source).
func TestSide_Periods(t *testing.T) {
	s := NewSide(byRole(), obd.Capabilities{}, new(reply.Support))
	asked := map[string]int{}
	for now := time.Duration(0); now < time.Minute; now += 10 * time.Millisecond {
		for _, r := range s.Due(now) {
			asked[r.Request()]++
			r.Answered(now, true, true)
		}
		s.Done(now, now)
	}
	for request, want := range map[string]int{
		"224D00": 300, "224D03": 300, // slip and turbine speed, 5 a second
		"224D04": 120, "224D05": 120, "224D06": 120, // wanted slip, clutch, gear: 2 a second
		"224D01": 30, "224D02": 12, // without a role; fluid temperature
	} {
		if got := asked[request]; got < want-2 || got > want {
			t.Errorf("%s: %d times in a minute, want %d", request, got, want)
		}
	}
}

// The most overdue comes first, and with it what else is due of the same module.
func TestSide_Order(t *testing.T) {
	s := NewSide(byRole(), obd.Capabilities{}, new(reply.Support))
	answer := func(which []*SideRequest, at time.Duration) {
		for _, r := range which {
			r.Answered(at, true, true)
		}
	}
	first := s.Due(0)
	if got := requests(first); !slices.Equal(got, []string{"224D00", "224D02", "224D03", "224D04", "224D05"}) {
		t.Fatalf("begins with %q", got)
	}
	answer(first, 0)
	second := s.Due(0)
	if got := requests(second); !slices.Equal(got, []string{"224D01", "224D06"}) {
		t.Fatalf("then %q", got)
	}
	answer(second, 0)
	if got := requests(s.Due(199 * time.Millisecond)); got != nil {
		t.Errorf("too early: %q", got)
	}
	if got := requests(s.Due(200 * time.Millisecond)); !slices.Equal(got, []string{"224D00", "224D03"}) {
		t.Errorf("after 0.2 s: %q", got)
	}
	answer(first, 3*time.Second)
	if got := requests(s.Due(4 * time.Second)); !slices.Equal(got, []string{"224D01", "224D06"}) { // due since 0.5 s
		t.Errorf("after 4 s: %q", got)
	}
}

// Side requests take three tenths of the time at most.
func TestSide_Share(t *testing.T) {
	s := NewSide(byRole(), obd.Capabilities{}, new(reply.Support))
	s.Done(time.Second, 1300*time.Millisecond) // 0.3 s, so 0.7 s are left to others
	if which := s.Due(1999 * time.Millisecond); which != nil {
		t.Errorf("%q within its share", requests(which))
	}
	if which := s.Due(2001 * time.Millisecond); which == nil {
		t.Error("nothing after its share")
	}
	s.Done(3*time.Second, 3*time.Second)
	if which := s.Due(3 * time.Second); which == nil {
		t.Error("nothing after a round that cost nothing")
	}
}

// What goes unanswered five times in a row is given up; an answer between starts the count again.
func TestSide_GivenUp(t *testing.T) {
	p := byRole()
	p.Parameters = p.Parameters[:1]
	s := NewSide(p, obd.Capabilities{}, new(reply.Support))
	now := time.Duration(0)
	for i, ok := range []bool{false, false, false, false, true, false, false, false, false, false} {
		which := s.Due(now)
		if len(which) != 1 {
			t.Fatalf("try %d: %q", i, requests(which))
		}
		which[0].Answered(now, ok, true)
		now += time.Second
	}
	if which := s.Due(now); which != nil {
		t.Errorf("%q again after five tries", requests(which))
	}
}

// The count digit comes after two replies of one line in a row, and only where the adapter knows it.
func TestSide_CountDigit(t *testing.T) {
	p := byRole()
	p.Parameters = p.Parameters[:1]
	for _, count := range []bool{true, false} {
		r := NewSide(p, obd.Capabilities{Count: count}, new(reply.Support)).Due(0)[0]
		for i, c := range []struct{ oneLine, digit bool }{{true, false}, {true, false}, {true, true}, {false, true}, {true, false}, {true, false}, {true, true}} {
			want := "224D00"
			if c.digit && count {
				want += "1"
			}
			if got := r.Request(); got != want {
				t.Errorf("count %v, request %d: %s, want %s", count, i, got, want)
			}
			r.Answered(0, true, c.oneLine)
		}
	}
}

// Where the engine is asked alone, what only another ECU reports is a side request to it.
func TestSide_OthersParameters(t *testing.T) {
	var s reply.Support
	for ecu, bits := range map[string][]byte{ // 04 05 0C 0D; and 05 0C 0D 0F
		"7E8": {0, 0x18, 0x18, 0, 0}, "7E9": {0, 0x08, 0x1A, 0, 0},
	} {
		if err := s.Add(ecu, bits); err != nil {
			t.Fatal(err)
		}
	}
	alone := NewSide(nil, obd.Capabilities{Focus: "7E8"}, &s)
	which := alone.Due(0)
	if !alone.Any() || len(which) != 1 || which[0].Module != "7E1" || which[0].Request() != "010F" {
		t.Errorf("%q", requests(which))
	}
	if all := NewSide(nil, obd.Capabilities{}, &s); all.Any() || all.Due(time.Hour) != nil {
		t.Error("side requests while everybody is asked")
	}
}
