// Command serve puts the simulated car behind a TCP port or a pseudo-terminal, for trying
// judder by hand: go run ./obd/simcar/serve -tcp 127.0.0.1:35000.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"time"

	"judder/obd/simcar"
	"judder/obd/simcar/drivetrain"
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
	script := flag.String("script", string(drivetrain.RoadTest), "what is driven; one of the scripts of package drivetrain")
	seed := flag.Uint64("seed", 1, "another seed, another drive")
	profile := flag.String("adapter", "genuine", "one of the adapters of package simcar")
	baud := flag.Int("baud", 115200, "serial speed to keep to")
	gear := flag.Bool("gear", true, "a transmission computer that tells the gear's ratio, PID A4")
	start := flag.Duration("start", 0, "where in the drive to begin")
	flag.Parse()

	p, ok := simcar.ProfileNamed(*profile)
	if !ok {
		return fmt.Errorf("no adapter %q", *profile)
	}
	drive := drivetrain.New(drivetrain.Spec{Seed: *seed, Length: time.Hour, Script: drivetrain.Script(*script)})
	ecus := []*simcar.ECU{simcar.EngineECU()}
	if *gear {
		ecus = append(ecus, simcar.TransmissionECU())
	}
	sim := simcar.New(simcar.FromDrive(drive), simcar.WithECUs(ecus...), simcar.WithProfile(p), simcar.PacedAt(*baud), simcar.StartAt(*start), simcar.Seed(*seed))

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
