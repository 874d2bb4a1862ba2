# The pack of fewest leaves within the tolerance, and of those the closest.
# Sizes are whole numbers of one step, so the optimum is a whole number.
set KINDS;
param size{KINDS}, integer;
param count{KINDS}, integer;
param want, integer;
param band, integer;
param least, integer;
param most, integer;
var n{k in KINDS}, integer, >= 0, <= count[k];
var miss, integer, >= 0, <= band;
s.t. thick: sum{k in KINDS} size[k] * n[k] - want <= miss;
s.t. thin:  want - sum{k in KINDS} size[k] * n[k] <= miss;
s.t. few:   sum{k in KINDS} n[k] >= least;
s.t. many:  sum{k in KINDS} n[k] <= most;
minimize order: (band + 1) * sum{k in KINDS} n[k] + miss;
solve;
printf "optimum %d %d", abs(sum{k in KINDS} size[k] * n[k] - want), sum{k in KINDS} n[k];
printf{k in KINDS} " %d", n[k];
printf "\n";
end;
