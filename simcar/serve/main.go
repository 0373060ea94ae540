// Command serve puts the simulated car behind a TCP port or a pseudo-terminal, for trying
// judder by hand: go run ./simcar/serve -tcp 127.0.0.1:35000.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"time"

	"github.com/judder-obd/judder/simcar"
	"github.com/judder-obd/judder/simcar/drivetrain"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "serve:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context) error {
	tcp := flag.String("tcp", "", "listen at host:port")
	pty := flag.Bool("pty", false, "open a pseudo-terminal and print its path")
	script := flag.String("script", string(drivetrain.RoadTest), "what is driven: "+strings.Join(scripts(), ", "))
	seed := flag.Uint64("seed", 1, "another seed, another drive")
	profile := flag.String("adapter", "genuine", "the adapter: "+strings.Join(adapters(), ", "))
	baud := flag.Int("baud", 115200, "serial speed to keep to")
	bus := flag.Uint("bus", uint(simcar.CAN11at500), "the car's bus, by its number of AT SP: 1 to 9")
	successor := flag.Bool("successor", false, "a car after SAE J1979-2, without services 01 to 0A")
	modules := flag.Bool("modules", false, "four further modules with codes: 760 (replies at 768), 710 (77A), 720 (728), 730 (738); on 29 bits 28, 40, 60, 30")
	codes := flag.Bool("codes", false, "ECUs that remember P0741 with its freeze frame, P0304 stored and pending, P0420 permanent")
	gear := flag.Bool("gear", true, "a transmission ECU that reports the gear's ratio, PID A4")
	waits := flag.String("waits", "", "the engine says \"wait\" (7F xx 78) once: \""+waitsOnce+"\" to the stored codes alone, \""+waitsEach+"\" to each service")
	broadcast := flag.String("broadcast", broadcastOwn, "what the ECUs put on a CAN bus unasked: \""+broadcastOwn+"\", \""+broadcastNone+"\", or a file of frames as candump logs them, again and again")
	gateway := flag.Bool("gateway", false, "a gateway keeps from the diagnostic socket what the ECUs put on the bus unasked")
	start := flag.Duration("start", 0, "where in the drive to begin")
	flag.Parse()

	p, ok := simcar.ProfileNamed(*profile)
	if !ok {
		return fmt.Errorf("no adapter %q; there are: %s", *profile, strings.Join(adapters(), ", "))
	}
	car, err := carOf(*script, *seed)
	if err != nil {
		return err
	}
	if *bus < uint(simcar.J1850PWM) || *bus > uint(simcar.CAN29at250) {
		return fmt.Errorf("-bus %d: give 1 to 9", *bus)
	}
	refusals, err := refusalsOf(*waits)
	if err != nil {
		return err
	}
	ecus := ecusOf(*gear, *codes, *successor, *modules)
	ecus[0].Refusals = refusals
	options := []simcar.Option{simcar.WithECUs(ecus...), simcar.OnBus(simcar.Protocol(*bus)), simcar.WithProfile(p), simcar.PacedAt(*baud), simcar.StartAt(*start), simcar.Seed(*seed)}
	traffic, err := trafficOf(*broadcast, car, simcar.Protocol(*bus))
	if err != nil {
		return err
	}
	if options = append(options, simcar.WithTraffic(traffic)); *gateway {
		options = append(options, simcar.BehindGateway())
	}
	sim := simcar.New(car, options...)

	var ended <-chan error
	switch {
	case *pty:
		path, done, err := sim.OpenPTY(ctx)
		if err != nil {
			return err
		}
		fmt.Println(path)
		ended = done
	case *tcp != "":
		addr, done, err := sim.ListenTCP(ctx, *tcp)
		if err != nil {
			return err
		}
		fmt.Println("tcp://" + addr.String())
		ended = done
	default:
		return fmt.Errorf("give -tcp host:port or -pty")
	}
	return <-ended
}

// What -broadcast may be, a file apart.
const (
	broadcastOwn  = "own"
	broadcastNone = "none"
)

// trafficOf is what the ECUs put on the bus unasked; nil for nothing.
func trafficOf(broadcast string, car simcar.Car, bus simcar.Protocol) (simcar.Traffic, error) {
	switch broadcast {
	case broadcastNone:
		return nil, nil
	case broadcastOwn:
		return simcar.Broadcasts(car, bus == simcar.CAN29at500 || bus == simcar.CAN29at250), nil
	}
	f, err := os.Open(broadcast)
	if err != nil {
		return nil, err
	}
	frames, err := simcar.ReadCandump(f)
	if err := errors.Join(err, f.Close()); err != nil {
		return nil, err
	}
	if len(frames) == 0 {
		return nil, fmt.Errorf("-broadcast %s: no frames", broadcast)
	}
	return simcar.Recorded(frames, frames[len(frames)-1].At+time.Millisecond), nil
}

// A parked car has its ignition on and its engine off; an idle one has its engine running.
const (
	parked = "parked"
	idle   = "idle"
)

func scripts() []string {
	names := []string{parked, idle}
	for _, s := range drivetrain.Scripts() {
		names = append(names, string(s))
	}
	return names
}

func adapters() (names []string) {
	for _, p := range simcar.AllProfiles() {
		names = append(names, p.Name)
	}
	return names
}

// carOf is the car that a script drives.
func carOf(script string, seed uint64) (simcar.Car, error) {
	if !slices.Contains(scripts(), script) {
		return nil, fmt.Errorf("no script %q; there are: %s", script, strings.Join(scripts(), ", "))
	}
	still := simcar.WarmIdle()
	switch script {
	case parked:
		still.RPM = 0
		return simcar.Steady(still), nil
	case idle:
		return simcar.Steady(still), nil
	}
	return simcar.FromDrive(drivetrain.New(drivetrain.Spec{Seed: seed, Length: time.Hour, Script: drivetrain.Script(script)})), nil
}

// What -waits may be: the engine says "wait" to the first request for stored codes, or to the
// first request of each service.
const (
	waitsOnce = "once"
	waitsEach = "each"
)

// waitsFor is how long after its "wait" the engine answers: within the longest wait of an
// adapter, behind its usual one.
const waitsFor = 800 * time.Millisecond

func refusalsOf(waits string) ([]simcar.Refusal, error) {
	switch waits {
	case "":
		return nil, nil
	case waitsOnce:
		return simcar.WaitsOnce(waitsFor, 0x03), nil
	case waitsEach:
		return simcar.WaitsOnce(waitsFor, simcar.ReadingServices...), nil
	default:
		return nil, fmt.Errorf("-waits %q: give %s or %s", waits, waitsOnce, waitsEach)
	}
}

// ecusOf are the car's ECUs, the engine's first.
func ecusOf(gear, codes, successor, modules bool) []*simcar.ECU {
	ecus := []*simcar.ECU{simcar.EngineECU()}
	if gear {
		ecus = append(ecus, simcar.TransmissionECU())
	}
	if codes {
		remember(ecus)
	}
	for _, e := range ecus {
		e.OBDonUDS = successor
	}
	if modules {
		ecus = append(ecus, simcar.BrakesModule(), simcar.BodyModule(), simcar.ClusterModule(), simcar.SteeringModule())
	}
	return ecus
}

// remember gives the ECUs codes for a code check to find: the engine, and the transmission if
// there is one.
func remember(ecus []*simcar.ECU) {
	e := ecus[0]
	e.Stored, e.Pending, e.Permanent = simcar.Codes("P0741", "P0304"), simcar.Codes("P0304"), simcar.Codes("P0420")
	c := simcar.WarmIdle()
	c.RPM, c.SpeedKMH, c.LoadPct = 1726, 80, 34
	e.Freeze = &simcar.Freeze{Code: e.Stored[0], Condition: c}
	e.Misfires = []simcar.Misfire{{}, {}, {Average: 0, Current: 1}, {Average: 4, Current: 38}}
	for _, e := range ecus[1:] {
		e.Stored, e.Pending = simcar.Codes("P0741"), simcar.Codes("P0741")
	}
}
