# Components of variance by restricted and by plain maximum likelihood, as in r_mixed_models.csv: R 4.2.2, lme4 1.1-31.
# Run in this folder: Rscript make_r_mixed_models.R > r_mixed_models.csv
library(lme4)

say <- function(id, fit) {
  parts <- as.data.frame(VarCorr(fit))
  for (i in seq_len(nrow(parts))) {
    cat(sprintf("%s,var %s,%.13g\n", id, parts$grp[i], parts$vcov[i]))
    cat(sprintf("%s,sd %s,%.13g\n", id, parts$grp[i], parts$sdcor[i]))
  }
  cat(sprintf("%s,fixef,%.13g\n", id, fixef(fit)))
  cat(sprintf("%s,se_fixef,%.13g\n", id, sqrt(vcov(fit)[1, 1])))
  cat(sprintf("%s,logLik,%.13g\n", id, as.numeric(logLik(fit))))
}

read <- function(name) read.csv(name, stringsAsFactors = TRUE)
dyestuff <- setNames(read("dyestuff.csv"), c("Batch", "y"))
dyestuff2 <- setNames(read("dyestuff2.csv"), c("Batch", "y"))
five <- data.frame(group = gl(5, 3), y = c(74, 76, 75, 68, 71, 72, 75, 77, 77, 72, 74, 73, 79, 81, 79))

cat("id,quantity,value\n")
say("Dyestuff_REML", lmer(y ~ 1 + (1 | Batch), dyestuff))
say("Dyestuff_ML", lmer(y ~ 1 + (1 | Batch), dyestuff, REML = FALSE))
say("Dyestuff2_REML", lmer(y ~ 1 + (1 | Batch), dyestuff2))
say("Pastes_REML", lmer(strength ~ 1 + (1 | batch) + (1 | sample), read("pastes.csv")))
say("Pastes_ML", lmer(strength ~ 1 + (1 | batch) + (1 | sample), read("pastes.csv"), REML = FALSE))
say("five_groups_REML", lmer(y ~ 1 + (1 | group), five))
