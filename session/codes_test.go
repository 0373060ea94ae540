package session

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/judder-obd/judder/detect/cause"
	"github.com/judder-obd/judder/obd"
	"github.com/judder-obd/judder/session/recording"
)

// The codes of a check inside a drive are read out of its replies. P0304 is 03 04, two codes are
// counted before them on CAN (SAE J1979, service 03); 59 02 has three bytes and a status for each
// (ISO 14229-1). What is asked outside a check is no check.
func TestCodes(t *testing.T) {
	a := NewAnalysis(nil)
	at := time.Duration(0)
	ask := func(request, line string) {
		at += 100 * time.Millisecond
		e := recording.OfExchange(obd.Exchange{Sent: at - 50*time.Millisecond, Done: at, Request: request, Form: obd.FormCAN11,
			Lines: []obd.Line{{At: at, Text: line}}})
		a.Take(&e)
	}
	check := func(s recording.CheckState) {
		e := recording.OfCheck(at, recording.Check{State: s})
		a.Take(&e)
	}
	ask("03", "7E8064302030407410000")
	if len(a.codes.all) > 0 {
		t.Errorf("outside a check: %+v", a.codes.all)
	}
	check(recording.CheckBegun)
	ask("03", "7E80643020304074100")
	ask("07", "7E80443010304")
	ask("07", "7E80447010133")
	ask("0A", "7E8024A00")
	check(recording.CheckOver)
	a.Finish()
	got := ""
	for _, c := range a.Result().Codes {
		got += fmt.Sprint(c.ECU, " ", c.Code, " ", c.Misfire(), "; ")
	}
	if got != "7E8 P0304 true; 7E8 P0741 false; 7E8 P0133 false; " {
		t.Errorf("%q", got)
	}
}

// The misfire codes of SAE J2012: P0300, and P0301 to P0312 for each cylinder.
func TestCode_Misfire(t *testing.T) {
	for code, want := range map[string]bool{"P0300": true, "P0301": true, "P0312": true, "P0304-00": true, "P0299": false, "P0313": false, "P1300": false, "P03": false, "": false} {
		if got := (&Code{Code: code}).Misfire(); got != want {
			t.Errorf("%s: %v", code, got)
		}
	}
}

// A car that refuses to give its codes, or gives them torn, has not been found free of misfire codes.
func TestCodes_NotRead(t *testing.T) {
	for line, want := range map[string]bool{"7E8024300": true, "7E80443010133": true, "7E8037F0311": false, "7E80443030133": false, "7E8024700": false, "NO DATA": false} {
		a := NewAnalysis(nil)
		begun, over := recording.OfCheck(0, recording.Check{State: recording.CheckBegun}), recording.OfCheck(time.Second, recording.Check{State: recording.CheckOver})
		asked := recording.OfExchange(obd.Exchange{Request: "03", Done: 100 * time.Millisecond, Form: obd.FormCAN11, Lines: []obd.Line{{At: 90 * time.Millisecond, Text: line}}})
		for _, e := range []*recording.Entry{&begun, &asked, &over} {
			a.Take(e)
		}
		a.Finish()
		r := a.Result()
		ledger := LedgerOf(&r)
		lines := ledger.Of(cause.Misfire, cause.Against)
		if got := slices.ContainsFunc(lines, func(l cause.Line) bool { return l.Rule == cause.NoMisfireCode }); got != want {
			t.Errorf("%s: %+v", line, lines)
		}
	}
}
