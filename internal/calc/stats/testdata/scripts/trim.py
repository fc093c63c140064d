"""Cuts what the other scripts made (made/*.json) down to the reference answers the tests read (ref/*.json).
   Run from testdata/ after them: python3 scripts/trim.py [folder, default made]"""
import json, sys

made = sys.argv[1] if len(sys.argv) > 1 else "made"


def load(name):
    return json.load(open(f"{made}/{name}.json"))


def keep(d, *keys):
    return {k: d[k] for k in keys if k in d and d[k] is not None}


def rows(table, *keys):
    return [[r[k] for k in keys] for r in table]


def save(name, d):
    with open(f"ref/{name}.json", "w") as f:
        f.write("{\n" + ",\n".join(f"{json.dumps(k)}: {json.dumps(v)}" for k, v in d.items()) + "\n}\n")


two = load("02_two_sample")
parts = ("welch", "perm", "perm_shift_ci95", "wilcox", "wilcox_exact_with_ties_coin", "wilcox_asymp_cc", "HL",
         "HL_ci_exactRank", "P_superiority", "hedges_g", "log_ratio", "fieller_ratio")
out = {k: keep(v, *parts) for k, v in two.items() if isinstance(v, dict) and "welch" in v and k != "trialL"}
for k in ("sleep_paired", "trialA_blocked_perm", "trialB_blocked_perm", "trialL"):
    out[k] = two[k]
save("two_sample", out)

save("blocked", {k: v["hc2_satt"] for k, v in load("14_blocked_hetero")["reference"].items()})

g = load("03_groups_blocks")
out = {k: keep(g[k], "anova", "sigma", "R2", "welch_anova", "kruskal", "brown_forsythe", "tukey", "games_howell", "dunnett",
               "pairwise_welch_raw", "pairwise_welch_holm")
       for k in ("plantgrowth", "insectsprays", "plantgrowth_unbalanced_rows_3_11_12_29_removed")}
for k in ("trialA", "trialB", "trialA_rows_4_5_9_removed", "trialD"):
    out[k] = keep(g[k], "effect_B_minus_A", "adj_means", "efficiency")
out["ptukey_upper"] = rows(g["ptukey_upper"], "q", "k", "df", "p")
out["qtukey"] = rows(g["qtukey"], "p", "k", "df", "q")
save("groups", out)

py, r = load("05_proportions_py"), load("05_proportions_R")
save("proportions", {
    "one_sample": {k: keep(v, "wilson", "clopper_pearson", "jeffreys") for k, v in py["one_sample"].items()},
    "two_by_two": {k: keep(v, "x1", "n1", "x2", "n2", "fisher_two", "fisher_midp_two", "newcombe_diff", "miettinen_nurminen_diff",
                           "boschloo_own") for k, v in py["two_by_two"].items()},
    "fisher_rxc": r["fisher_rxc"], "strata": r["strata"]})

p = load("07_power")
save("power", {
    "power_t": p["power_t"], "power_unequal": p["power_unequal"],
    "mdd": rows(p["mdd"], "n", "cv", "power", "d", "raw_pct", "up_pct", "down_pct"),
    "mdd_blocked_2_layers": rows(p["mdd_blocked_2_layers"], "n", "power", "d_no_block_df", "d_block"),
    "n_needed": rows(p["n_needed"], "pct", "cv", "power", "n_log", "n_raw"),
    "start_jars": rows(p["start_jars"], "n", "loss", "start"),
    "tost_power": p["tost_power"], "tost_n": rows(p["tost_n"], "cv", "margin", "theta", "n")})
m = load("07_noncentral_mp")
save("noncentral", {"nct": [[x["t"], x["df"], x["ncp"], float(x["cdf"])] for x in m["nct"]],
                    "power_two_sample_t": {k: float(v) for k, v in m["power_two_sample_t"].items()}})
save("exact_power", load("07_exact_power"))

d = load("12_design")
save("design", {k: v for k, v in d.items() if isinstance(v, dict) and "contrasts" in v} |
     keep(d, "min_p", "min_p_blocked", "totals_prove_nothing"))
save("nist", {"anova": load("00_nist")["anova"], "digits": load("00_nist_lre")})
