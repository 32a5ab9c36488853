-- Procedures for sanitation (9 CFR 416.11 to 416.16) among the programmes, and the records of them.
ALTER TABLE plan ADD COLUMN sanitation boolean NOT NULL DEFAULT false;
CREATE VIEW sanitation_line AS
    WITH asked AS (SELECT c.id FROM planned_check c JOIN plan p ON p.id = c.plan WHERE p.sanitation)
    SELECT seq FROM check_answer WHERE planned IN (SELECT id FROM asked)
    UNION SELECT seq FROM check_missed WHERE planned IN (SELECT id FROM asked)
    UNION SELECT seq FROM monitoring_observation WHERE planned IN (SELECT id FROM asked)
    UNION SELECT seq FROM reading WHERE quantity = 'chlorine';
