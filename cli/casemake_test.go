package cli

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"flag"
	"image"
	"image/color"
	"image/jpeg"
	"io/fs"
	"math"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/judder-obd/judder/casefile"
	"github.com/judder-obd/judder/simcar"
)

var makeCase = flag.Bool("make-case", false, "make the case of the fixtures again")

// shop is a workshop with one made-up car. Its commands run in simulated time.
type shop struct {
	t      *testing.T
	dir    string // of the case
	engine *simcar.ECU
}

// run runs a command that has to succeed, on the car as it is driven; nil for none.
func (s *shop) run(car simcar.Car, args ...string) {
	s.t.Helper()
	plug := func(context.Context) net.Conn { return nil }
	if car != nil {
		plug = simcar.New(car, simcar.WithECUs(s.engine, simcar.TransmissionECU()), simcar.PacedAt(7200)).Pipe // about ten readings a second
	}
	if code, _, said := judderOn(s.t, plug, "", args...); code != exitOK {
		s.t.Fatalf("judder %q: %d: %s", args, code, said)
	}
	time.Sleep(7 * time.Minute) // until the next thing is done
}

// A road test by plan: after some seconds of cruise, passes at one speed with the throttle still,
// and a moved throttle between them.
const (
	cruiseKMH    = 68
	rpmPerKMH    = 21.25 // of a locked clutch in this gear
	firstPass    = 14 * time.Second
	passLasts    = 11 * time.Second
	betweenTakes = 6 * time.Second
)

// roadTest is a warm car on such a road test. In the passes of shakes its converter clutch grabs and
// lets go 1.2 times a second, by 110 rpm peak to peak, from the third second on. In those of taps the
// driver touches the brake at the fifth: the clutch opens for two seconds and the shake is over.
func roadTest(shakes, taps string) simcar.Car {
	return simcar.CarFunc(func(t time.Duration) simcar.Condition {
		c := simcar.WarmIdle()
		s := t.Seconds()
		c.SpeedKMH, c.Gear, c.GearRatio, c.LoadPct, c.ThrottlePct, c.PedalPct = cruiseKMH, 5, 0.85, 34, 21, 24
		c.RPM = cruiseKMH*rpmPerKMH + 1.5*math.Sin(11.3*s) + 1.5*math.Sin(17.9*s+1) + 1.2*math.Sin(29.7*s+2) // an engine is never quite smooth
		if t < firstPass {
			return c
		}
		pass := int((t - firstPass) / (passLasts + betweenTakes))
		in := (t - firstPass - time.Duration(pass)*(passLasts+betweenTakes)).Seconds()
		if over := in - passLasts.Seconds(); over > 0 { // the foot eases off and comes back
			lift := math.Sin(math.Pi * over / betweenTakes.Seconds())
			c.ThrottlePct, c.PedalPct, c.LoadPct = 21-11*lift, 24-11*lift, 34-16*lift
			return c
		}
		in -= 3
		tapped := strings.Contains(taps, strconv.Itoa(pass))
		if !strings.Contains(shakes, strconv.Itoa(pass)) || in < 0 || in > 6 {
			return c
		}
		if tapped && in > 2 {
			open := in - 2
			c.RPM += 190 * min(open/0.3, 1, max(0, (2.3-open)/0.3)) // rises, stays, falls
			return c
		}
		c.RPM += 55 * min(in/0.4, 1, max(0, (6-in)/0.4)) * math.Sin(2*math.Pi*1.2*in)
		return c
	})
}

// wholeCase makes a case from intake to verified repair in s.dir. Everything in it is made up.
func (s *shop) wholeCase(before, after int) {
	t := s.t
	until := time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC)
	time.Sleep(time.Until(until)) // the clock of the bubble begins in 2000
	tmp := t.TempDir()
	photo := func(name string, tone color.RGBA) string {
		path := filepath.Join(tmp, name)
		if err := os.WriteFile(path, drawnPhoto(t, tone), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	s.engine = simcar.EngineECU()
	s.engine.Delay = 45 * time.Millisecond
	s.engine.Stored = simcar.Codes("P0741")
	frozen := simcar.WarmIdle()
	frozen.RPM, frozen.SpeedKMH = 1452, 68
	s.engine.Freeze = &simcar.Freeze{Code: s.engine.Stored[0], Condition: frozen}
	plan := func(passes int) time.Duration { return firstPass + time.Duration(passes)*(passLasts+betweenTakes) }

	s.run(nil, "case", "new", s.dir, "--says", "it hums like a rumble strip", "--speed", "60-75 km/h", "--load", "light", "--engine", "warm", "--often", "nearly every trip", "--since", "since the spring",
		"--work", "tyres in March", "--car", "practice estate", "--odometer", "12346", "--by", "bench 2")
	s.run(nil, "case", "look", s.dir, "tyres", "--place", "all four", "--note", "205/55R16, same make and tread, 2.4 bar")
	s.run(nil, "case", "look", s.dir, "fluid-level", "--place", "overflow plug", "--note", "drips, level right", "--at-c", "54", "--from-c", "50", "--to-c", "60", "--page", "maker's page 7", "--photo", photo("level.jpg", color.RGBA{150, 40, 30, 255}))
	s.run(nil, "case", "look", s.dir, "fluid-colour", "--place", "white tissue", "--note", "dark brown, no specks", "--photo", photo("tissue.jpg", color.RGBA{90, 50, 25, 255}))
	s.run(nil, "case", "look", s.dir, "mounts", "--place", "right engine mount", "--note", "no cracks, moves 8 mm")
	s.run(simcar.CarFunc(parked), "check", "--case", s.dir, "--port", inMemory)
	s.run(roadTest("01245", "024"), "drive", "--case", s.dir, "--port", inMemory, "--headless", "--for", plan(before).String())
	s.run(nil, "case", "ask", s.dir, "--for", "full exchange of the transmission fluid, converter and cooler included", "--estimate", "420 EUR, 2.5 h and 9 l of fluid", "--contract", "C-2031", "--number", "A-17-0042")
	time.Sleep(24 * time.Hour)
	s.run(nil, "case", "repair", s.dir, "fluid", "--parts", "9.2 l of the fluid that the maker names", "--note", "converter, cooler and lines drained", "--odometer", "12360")
	s.engine.Stored, s.engine.Freeze = nil, nil
	s.run(simcar.CarFunc(parked), "check", "--case", s.dir, "--port", inMemory)
	s.run(roadTest("", ""), "drive", "--case", s.dir, "--port", inMemory, "--headless", "--for", plan(after).String())
}

// drawnPhoto is a made-up photo: a drop on a tissue. Like a camera it keeps a place beside it, which
// no paper may show.
func drawnPhoto(t *testing.T, tone color.RGBA) []byte {
	img := image.NewRGBA(image.Rect(0, 0, 640, 480))
	for y := range 480 {
		for x := range 640 {
			c := color.RGBA{244, 242, 236, 255}
			if dx, dy := float64(x-320)/150, float64(y-250)/110; dx*dx+dy*dy < 1 {
				c = tone
			}
			img.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 60}); err != nil {
		t.Fatal(err)
	}
	data := []byte("Exif\x00\x00" + photoPlace)
	segment := append(binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(data)+2)), data...)
	return append(append(bytes.Clone(b.Bytes()[:2]), segment...), b.Bytes()[2:]...)
}

const photoPlace = "made-up place 0N 0E"

// fixtureCase is where the case of the fixtures is.
var fixtureCase = filepath.Join("..", "fixtures", "case")

// fixtureMost is how large the case of the fixtures may be, in bytes.
const fixtureMost = 600_000

// A case from intake to verified repair, by its commands alone. With -make-case it becomes the case
// of the fixtures.
func TestCase_Whole(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "case")
	before, after := 2, 2 // passes
	if *makeCase {
		dir, before, after = fixtureCase, 6, 8
		if err := os.RemoveAll(dir); err != nil {
			t.Fatal(err)
		}
	}
	synctest.Test(t, func(t *testing.T) { (&shop{t: t, dir: dir}).wholeCase(before, after) })
	c := caseIn(t, dir)
	if c.Ready() != casefile.After || len(c.Of(casefile.Drive, casefile.Before)) != 1 || len(c.Of(casefile.Drive, casefile.After)) != 1 ||
		len(c.Of(casefile.CodeCheck, casefile.Before)) != 1 || len(c.Of(casefile.CodeCheck, casefile.After)) != 1 || len(c.Looks) != 4 || len(c.Of(casefile.Photo, casefile.Before)) != 2 {
		t.Errorf("%+v", c)
	}
}

// The case of the fixtures is small, and nothing of it has changed since it was made.
func TestCase_Fixture(t *testing.T) {
	size := int64(0)
	err := filepath.WalkDir(fixtureCase, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		size += info.Size()
		return err
	})
	if err != nil || size == 0 || size > fixtureMost {
		t.Errorf("%d bytes, %d at most; %v", size, fixtureMost, err)
	}
	f, err := casefile.Open(fixtureCase)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	for _, h := range f.Gather().Hashes {
		if h.Err != nil || h.Changed() {
			t.Errorf("%s: %v; go test ./cli -run Case_Whole -make-case makes the case again", h.File.Name, h.Err)
		}
	}
	if code, out, said := typed(t, "", "report", fixtureCase, "--text"); code != exitOK || strings.Count(out, "\n") > 20 {
		t.Errorf("%d %s%s", code, out, said)
	}
}
