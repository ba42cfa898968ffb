# Writes r_survival_reference.csv with R's own package survival (run once; R and survival are in Debian).
#
#     Rscript make_r_survival_reference.R > r_survival_reference.csv
#
# Fits of location and scale by survreg, with iterations to relative changes of 1e-12; exponential mean in closed form.
library(survival)

read <- function(name) read.csv(name, colClasses = "character")
shock <- read("shock_absorber.csv"); device <- read("device_g.csv"); gehan <- read("freireich_gehan.csv")
bury <- function(name) { d <- read(name); list(t = as.numeric(d$t), d = d$event == "1") }
units <- c(187, 216, 240, 244, 335, 361, 373, 375, 386, rep(500, 10))
bearings <- c(17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.4, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64, 68.88, 84.12,
              93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4)
km <- as.numeric(shock$km); kc <- as.numeric(device$kcycles); weeks <- as.numeric(gehan$weeks)
of <- function(group) list(t = weeks[gehan$group == group], d = gehan$event[gehan$group == group] == "1")

sets <- list(
  shock_all = list(t = km, d = shock$mode != "Censored"),
  shock_mode1 = list(t = km, d = shock$mode == "Mode1"),
  shock_mode2 = list(t = km, d = shock$mode == "Mode2"),
  deviceG_Surge = list(t = kc, d = device$mode == "Surge"),
  deviceG_Wearout = list(t = kc, d = device$mode == "Wearout"),
  deviceG_all = list(t = kc, d = device$mode %in% c("Surge", "Wearout")),
  ball_bearing = list(t = bearings, d = rep(TRUE, 23)),
  freireich_control = of("control"), `freireich_6-MP` = of("6-MP"),
  nist_apr_54 = list(t = c(54, units), d = c(rep(TRUE, 10), rep(FALSE, 10))),
  nist_apr_55 = list(t = c(55, units), d = c(rep(TRUE, 10), rep(FALSE, 10))),
  bury_norcen = bury("bury_norcen.csv"), bury_weicen = bury("bury_weicen.csv"),
  bury_lgncen = bury("bury_lgncen.csv"), bury_expcen = bury("bury_expcen.csv"))

cat("id,quantity,value\n")
out <- function(id, quantity, value) cat(sprintf("%s,%s,%.12g\n", id, quantity, value))
fit <- function(s, dist) survreg(Surv(s$t, s$d) ~ 1, dist = dist, control = survreg.control(rel.tolerance = 1e-12, maxiter = 200))

for (id in names(sets)) {
  s <- sets[[id]]
  w <- fit(s, "weibull")
  out(id, "weibull_shape", 1 / w$scale); out(id, "weibull_scale", exp(coef(w))); out(id, "weibull_loglik", w$loglik[1])
  out(id, "sev_mu", coef(w)); out(id, "sev_sigma", w$scale)
  out(id, "se_mu", sqrt(w$var[1, 1])); out(id, "se_log_sigma", sqrt(w$var[2, 2])); out(id, "cov_mu_logsigma", w$var[1, 2])
  if (!startsWith(id, "freireich")) {
    l <- fit(s, "lognormal")
    out(id, "lognormal_mu", coef(l)); out(id, "lognormal_sigma", l$scale); out(id, "lognormal_loglik", l$loglik[1])
    out(id, "lognormal_se_mu", sqrt(l$var[1, 1])); out(id, "lognormal_se_logsigma", sqrt(l$var[2, 2]))
  }
  if (grepl("^(shock|bury|freireich)", id)) {
    m <- sum(s$t) / sum(s$d)
    out(id, "exp_mean", m); out(id, "exp_loglik", -sum(s$d) * (log(m) + 1))
  }
  if (grepl("^(shock|bury)", id)) {
    n <- fit(s, "gaussian")
    out(id, "normal_mu", coef(n)); out(id, "normal_sigma", n$scale); out(id, "normal_loglik", n$loglik[1])
  }
}
g <- factor(gehan$group, levels = c("control", "6-MP"))
y <- Surv(weeks, gehan$event == "1")
d <- survdiff(y ~ g); p <- survdiff(y ~ g, rho = 1)
out("freireich", "logrank_chisq", d$chisq); out("freireich", "logrank_var", d$var[1, 1])
out("freireich", "exp_control", d$exp[1]); out("freireich", "exp_6mp", d$exp[2])
out("freireich", "peto_peto_rho1_chisq", p$chisq)
