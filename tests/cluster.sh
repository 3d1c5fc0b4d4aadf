#!/usr/bin/env bash
# A season as an array job on a scheduler of its own: munge and Slurm (slurmctld and one slurmd,
# packages munge and slurm-wlm) in a folder that is removed, on ports of this machine. An array of
# eight, of which one task is killed and requeued in the middle; the merge must be the single run,
# byte by byte. Then the same by GNU parallel (package parallel).
#
#   bash tests/cluster.sh [build/release/pappus]
#
# Not among the tests of ctest: daemons are not everywhere allowed. Where it cannot run it says so
# in a line and ends well.
set -euo pipefail
source=$(cd "$(dirname "$0")/.." && pwd)
pappus=$(readlink -f "${1:-$source/build/release/pappus}")
home=$(mktemp -d /tmp/pappus-cluster-XXXXXX)
started=()
failed=0

end() {
    set +e
    for pid in "${started[@]}"; do
        kill "$pid" 2>/dev/null
    done
    sleep 1
    for pid in "${started[@]}"; do
        kill -9 "$pid" 2>/dev/null
    done
    [ "$failed" = 0 ] && [ -z "${KEEP:-}" ] && rm -rf "$home"
}
trap end EXIT

skip() {
    echo "cluster: skipped: $1"
    exit 0
}

fail() {
    failed=1
    echo "cluster: FAILED: $1 (kept: $home)" >&2
    exit 1
}

for program in munged slurmctld slurmd sbatch scontrol squeue; do
    command -v "$program" >/dev/null || skip "no $program (packages munge and slurm-wlm)"
done
[ "$(id -u)" = 0 ] || skip "slurmd wants to be root"
[ -x "$pappus" ] || fail "no program at $pappus"

# wait_for SECONDS COMMAND...: true as soon as the command is.
wait_for() {
    local tries=$(($1 * 5))
    shift
    while ! "$@" >/dev/null 2>&1; do
        tries=$((tries - 1))
        [ "$tries" -gt 0 ] || return 1
        sleep 0.2
    done
}

# --------------------------------------------------------------- what is flown: all invented
mkdir "$home/tried"
cat >"$home/tried/plan.json" <<JSON
{"base": "$source/examples/go_day.json", "wind": {"profiles": null, "surface": null, "age": null},
 "field": {"boundary": null, "keep_out": null, "roads": null, "radius": "800 m"}}
JSON
python3 - "$home/tried/soundings.csv" <<'PY'
import math, sys
with open(sys.argv[1], "w") as out:
    out.write("height_agl_m,direction_deg,speed_mps,time\n")
    for i in range(672):
        for z, factor in ((10, 1.0), (500, 1.3), (2500, 1.6)):
            out.write(f"{z},{(200 + 31 * i) % 360},{factor * (4 + 3.2 * math.sin(1.3 * i)):.2f},"
                      f"{2024 + i // 336}-{1 + i // 28 % 12:02d}-{1 + i % 28:02d}T18:00Z\n")
PY
cd "$home/tried"
PAPPUS=$pappus
export PAPPUS PAPPUS_SEASON_OPTIONS="-n 1000" PAPPUS_SEASON_PUT_AFTER=0
"$pappus" season plan.json soundings.csv -n 1000 -o single --quiet >/dev/null

# ------------------------------------------------------------------------------ the daemons
mkdir -m 700 "$home/munge" "$home/state" "$home/spool"
head -c 1024 /dev/urandom >"$home/munge/key"
chmod 600 "$home/munge/key"
chmod 755 "$home" "$home/munge"
munged --foreground --force --key-file "$home/munge/key" --socket "$home/munge/socket" \
    --pid-file "$home/munge/pid" --seed-file "$home/munge/seed" --log-file "$home/munge/log" \
    >"$home/munge/out" 2>&1 &
started+=($!)
wait_for 10 test -S "$home/munge/socket" || skip "munged does not start: $(tail -1 "$home/munge/out")"
node=$(hostname -s)
port=$((20000 + $$ % 20000))
cat >"$home/slurm.conf" <<CONF
ClusterName=season
SlurmctldHost=$node(127.0.0.1)
SlurmctldPort=$port
SlurmdPort=$((port + 1))
SlurmUser=root
AuthType=auth/munge
AuthInfo=socket=$home/munge/socket,cred_expire=5
CredType=cred/munge
StateSaveLocation=$home/state
SlurmdSpoolDir=$home/spool
SlurmctldPidFile=$home/slurmctld.pid
SlurmdPidFile=$home/slurmd.pid
SlurmctldLogFile=$home/slurmctld.log
SlurmdLogFile=$home/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
MpiDefault=none
MailProg=/bin/true
ReturnToService=2
SelectType=select/cons_tres
SelectTypeParameters=CR_Core
KillWait=1
SchedulerParameters=sched_interval=1,bf_interval=1
NodeName=$node NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=$node Default=YES MaxTime=INFINITE State=UP
CONF
echo "CgroupPlugin=cgroup/v1" >"$home/cgroup.conf"
export SLURM_CONF=$home/slurm.conf
slurmctld -D -i >"$home/slurmctld.out" 2>&1 &
started+=($!)
wait_for 20 scontrol ping || skip "slurmctld does not start: $(tail -1 "$home/slurmctld.out")"
slurmd -D -N "$node" >"$home/slurmd.out" 2>&1 &
started+=($!)
idle() { sinfo -h -o %T | grep -q idle; }
wait_for 30 idle || skip "slurmd does not start: $(tail -1 "$home/slurmd.out")"

# --------------------------------------------------------------------------------- the array
job=$(sbatch --parsable --array=1-8 "$source/examples/season.sbatch" out plan.json soundings.csv)
part=out.parts/season-3-of-8.part
done_of() { tail -1 "$part" | sed -n 's/^{"days":\([0-9]*\),.*/\1/p'; }
unfinished() { [ "$(done_of)" -gt 0 ] && [ "$(done_of)" -lt 84 ]; }
wait_for 300 unfinished || fail "the third task has put nothing down in its middle"
scontrol requeue "${job}_3" || fail "the third task could not be requeued"
echo "cluster: task 3 requeued with $(done_of) of its 84 days put down"
quiet() { [ -z "$(squeue -h)" ]; }
wait_for 600 quiet || fail "jobs are left: $(squeue -h)"
diff -r single out || fail "the merge is not the single run"
grep -q REQUEUE slurm-"${job}"_3.out || fail "the third task was not stopped"
echo "cluster: array of 8, one requeued: the merge is the single run"

# ------------------------------------------------------------------------------- GNU parallel
if command -v parallel >/dev/null; then
    bash "$source/examples/season.sh" "by parallel" 3 plan.json soundings.csv >/dev/null 2>&1 ||
        fail "examples/season.sh"
    diff -r single "by parallel" || fail "GNU parallel's merge is not the single run"
    echo "cluster: 3 shards by GNU parallel: the merge is the single run"
else
    echo "cluster: GNU parallel is not there; skipped"
fi
